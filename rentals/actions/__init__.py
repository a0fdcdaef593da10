"""The verbs of the trade, the only code that changes state: each locks, checks, writes and records
at once.
"""
