"""Robust figures, and the probability of meeting a limit."""
