"""Thin views: who asks, what was typed, one action, one answer."""
