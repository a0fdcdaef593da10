"""Whose capture, which test, which column."""
