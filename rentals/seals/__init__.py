"""The log: which tables it protects, how its lines are keyed, and whether rows are as it says."""
