"""Pages of lists by cursor: the number of the last row, so that rows which come or go meanwhile
neither repeat one nor leave one out.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.db.models import Model, QuerySet

from .problems import DoorProblem


def page_after(
    rows: QuerySet[Any], cursor: str | None, limit: int, shape: Callable[[Any], Any]
) -> dict[str, Any]:
    """One page of rows in the order of their numbers, each as `shape` gives it."""
    if cursor:
        rows = rows.filter(pk__gt=int(cursor))
    found: list[Model] = list(rows[: limit + 1])
    more, shown = len(found) > limit, found[:limit]
    return {
        "items": [shape(row) for row in shown],
        "next": str(shown[-1].pk) if more else None,
    }


def moment(text: str | None, name: str) -> datetime | None:
    """The moment that a text of the query says, with its offset from UTC.

    Raises
    ------
    DoorProblem
        If it says none.
    """
    if text is None:
        return None
    try:
        said = datetime.fromisoformat(text)
        # The ends of the calendar have no counterpart in other time zones.
        if said.tzinfo is not None and 1900 <= said.year <= 9000:
            return said
    except ValueError:
        pass
    raise DoorProblem(
        422,
        "Give a moment from 1900 on with its offset, as 2026-01-31T08:00:00Z.",
        pointer=f"/query/{name}",
    )
