"""Checking the history in parts: each reads a bounded stretch of it in one view of the database, so
that memory stays flat, several processes share the work, and a check that was stopped goes on.
"""
