"""From stored results to one verdict on a kit: rounds, limits in force, combining, next step,
drift.
"""
