"""Rows of wide queries that by far most pages find empty."""

from __future__ import annotations

from typing import TypeVar

from django.db.models import Model, QuerySet

Row = TypeVar("Row", bound=Model)


def seldom_any(rows: QuerySet[Row]) -> list[Row]:
    """These rows, which are there only seldom. Whether there are any is asked first, without what
    belongs to them: to name a hundred columns of six tables costs several times what it takes to
    look, and most often for nothing. One query where there is none, two where there are some.
    """
    return list(rows) if rows.exists() else []
