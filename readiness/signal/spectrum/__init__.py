"""Mains, other lines and the noise floor."""
