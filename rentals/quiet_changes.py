"""Changes that leave all that is kept in memory as it is: a note in a kit's history, and with it
the end of the kit's chain. A table that has such changes has two marks: under its own name one that
these leave alone, and one of every change (`every_change`).
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from rentals.lifecycle import Verb
from rentals.models import Event, Kit

#: Columns of a kit that say where its chain ends.
_CHAIN_ENDS = frozenset({"event_count", "last_hash"})
_BY_VERB = re.compile(r'"verb" (=|IN)')
_NOTED = Verb.NOTED.value
#: Every column, unless it is a count of rows.
_EVERY_COLUMN = re.compile(r"(?<!\()\*")


@dataclass(frozen=True)
class QuietChange:
    """Of one table, the `statement` ("INSERT" or "UPDATE") that may be quiet, and when it is not:
    on SQLite of a row as OLD and NEW, on PostgreSQL of a statement's rows in `was` and `now`.
    """

    table: str
    statement: str
    loud_row: str
    loud_rows: str


def every_change(table: str) -> str:
    """The mark that every change of a table draws anew."""
    return f"{table}, every change"


def chain_ends(*kits: str) -> list[str]:
    """Fields to `defer` where rows come with these kits and nothing asks where their chains end, so
    that a note in one leaves what is kept of them.
    """
    return [f"{kit}__{column}" for kit in kits for column in sorted(_CHAIN_ENDS)]


def _of_kits() -> QuietChange:
    columns = [field.column for field in Kit._meta.concrete_fields]
    loud = [f'"{column}"' for column in columns if column not in _CHAIN_ENDS]
    row = " OR ".join(f"OLD.{column} IS NOT NEW.{column}" for column in loud)
    names = ", ".join(loud)
    # Nothing in it but names of columns.
    rows = f"EXISTS (SELECT {names} FROM now EXCEPT SELECT {names} FROM was)"  # noqa: S608
    return QuietChange(Kit._meta.db_table, "UPDATE", row, rows)


def _of_events() -> QuietChange:
    """A note that says nothing beside its words. What else it came with marks its own table."""
    return QuietChange(
        Event._meta.db_table,
        "INSERT",
        f"NEW.verb <> '{_NOTED}' OR NEW.data <> '{{}}'",
        f"EXISTS (SELECT FROM now WHERE verb <> '{_NOTED}' OR data <> '{{}}'::jsonb)",
    )


QUIET_CHANGES = {quiet.table: quiet for quiet in (_of_kits(), _of_events())}


def marks_of_read(
    tables: Collection[str], words: Collection[str], sql: str, given: Any
) -> set[str]:
    """The marks that an answer hangs on which was read from these tables.

    Parameters
    ----------
    tables : collection of str
        Those among the `words` of the query.
    sql, given
        The query, and what was put into it.
    """
    marks = set(tables)
    kits, events = Kit._meta.db_table, Event._meta.db_table
    whole = bool(_EVERY_COLUMN.search(sql))
    if kits in marks and (whole or not _CHAIN_ENDS.isdisjoint(words)):
        marks.add(every_change(kits))
    if events in marks and not (_BY_VERB.search(sql) and _NOTED not in (given or ())):
        marks.add(every_change(events))
    return marks
