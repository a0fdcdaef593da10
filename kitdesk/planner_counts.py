"""How many rows share a value, counted for SQLite's planner. Without it every index passes for
equally good, and to find the open loans of fifty kits all open loans are read. PostgreSQL counts by
itself.
"""

from __future__ import annotations

from django.core.cache import cache
from django.db import connection

#: Rows looked at in each index: enough to tell a state from a number, and a matter of
#: milliseconds. Within such a limit SQLite notes counts alone and no values, which may be words of
#: students.
_ROWS = 1000
_EVERY_S = 3600
_DONE = "planner-counts"


def count_for_planner() -> None:
    """Count anew. Other connections plan by it once they are opened anew, within a minute."""
    if connection.vendor != "sqlite":
        return
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA analysis_limit = {_ROWS}")
        cursor.execute("ANALYZE")


def count_for_planner_hourly() -> None:
    """Count unless that was done within the hour: a table that was small may have grown."""
    if connection.vendor == "sqlite" and cache.add(_DONE, True, _EVERY_S):
        count_for_planner()
