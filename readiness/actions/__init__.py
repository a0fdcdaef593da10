"""The verbs of the bench, the only code here that changes state: each locks, checks, writes and
records at once.
"""
