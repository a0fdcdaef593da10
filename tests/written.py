"""Every row of the database as an act leaves it: two ways of doing one thing can be compared."""

from __future__ import annotations

import secrets
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest
from django.apps import apps
from django.core.management.color import no_style
from django.db import connection, transaction
from django.utils import timezone

from rentals.models import TableMark

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
"""Pass it as the moment of what is compared."""

Rows = dict[str, list[tuple[Any, ...]]]


def rows_written(act: Callable[[], object]) -> Rows:
    """All rows after the act, by the names of their tables; the act is taken back. What is drawn by
    lot, and the moment where none is given, are the same in each call.
    """
    _count_from_rows()
    drawn: dict[str, int] = {}

    def token_hex(size: int = 32) -> str:
        # Each room counts by itself: which of them draws first is no fact of what is written.
        room = sys._getframe(1).f_globals["__name__"]
        drawn[room] = drawn.get(room, 0) + 1
        return f"{drawn[room]:0{2 * size}x}"

    with pytest.MonkeyPatch.context() as patch, transaction.atomic():
        patch.setattr(secrets, "token_hex", token_hex)
        patch.setattr(timezone, "now", lambda: AT)
        act()
        # But for marks, which the database draws at random with every change.
        models = (model for model in apps.get_models() if model is not TableMark)
        rows = {model._meta.label: _rows(model) for model in models}
        transaction.set_rollback(True)
    return rows


def _rows(model: Any) -> list[tuple[Any, ...]]:
    return list(model._base_manager.order_by("pk").values_list())


def _count_from_rows() -> None:
    """PostgreSQL's counters go on where a rollback took their rows back; SQLite's do not."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), apps.get_models()):
            cursor.execute(statement)
