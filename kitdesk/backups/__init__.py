"""Backups: a desk in one file and back, daily ones that are rotated, sealed with a pass phrase."""
