"""The table of a roster in the body of a request: CSV, or rows in JSON."""

from __future__ import annotations

import hashlib
import json
from typing import Any

from django.http import HttpRequest

from rentals.roster.apart import read_roster_apart
from rentals.roster.columns import FIELDS
from rentals.roster.people import KEPT
from rentals.roster.sheet import (
    MAX_BYTES,
    MAX_CELL,
    RosterSheet,
    RosterUnreadable,
    SheetRow,
    checked_rows,
    tidy,
)

from .bodies import body_of
from .problems import DoorProblem


def table_of(request: HttpRequest) -> tuple[RosterSheet, bool, str]:
    """The table, whether its columns are certain, and the digest of the body.

    Raises
    ------
    DoorProblem
        If the body is of another kind, or cannot be read as a roster.
    """
    kind = (request.content_type or "").lower()
    if kind not in ("text/csv", "application/json"):
        raise DoorProblem(
            415,
            "Send the table as text/csv, or its rows as application/json.",
            pointer="/header/Content-Type",
        )
    data = body_of(request, MAX_BYTES)
    digest = hashlib.sha256(data).hexdigest()
    try:
        if kind == "text/csv":
            return read_roster_apart(data), False, digest
        return _sheet_of(_rows_of(data)), True, digest
    except RosterUnreadable as unreadable:
        raise DoorProblem(422, str(unreadable), pointer="/body") from unreadable


def _rows_of(data: bytes) -> list[Any]:
    try:
        body = json.loads(data)
    except (ValueError, RecursionError) as broken:
        raise DoorProblem(400, "The body is no JSON.", pointer="/body") from broken
    if not isinstance(body, dict) or set(body) != {"rows"} or not isinstance(body["rows"], list):
        raise DoorProblem(422, 'Send {"rows": [...]}, and nothing else.', pointer="/body")
    return body["rows"]


def _sheet_of(rows: list[Any]) -> RosterSheet:
    """The rows below the heads of all fields, as a spreadsheet would hold them."""
    heads = SheetRow(1, tuple(FIELDS[name] for name in KEPT))
    sheet = [_row(number, row) for number, row in enumerate(rows, start=2)]
    return RosterSheet(checked_rows([heads, *sheet]))


def _row(number: int, row: Any) -> SheetRow:
    if not isinstance(row, dict):
        raise _wrong(number, "", "Each row is an object with the fields of one student.")
    for name in row:
        if name not in KEPT:
            raise _wrong(number, name, f"A row has no such field. It may have: {', '.join(KEPT)}.")
    for name in ("name", "email"):
        if name not in row:
            raise _wrong(number, name, "Each row needs a name and an email.")
    return SheetRow(number, tuple(_cell(number, name, row.get(name)) for name in KEPT))


def _cell(number: int, name: str, value: Any) -> str:
    if value is None:
        return ""
    if not isinstance(value, str) or len(value) > MAX_CELL:
        raise _wrong(number, name, f"A cell is a text of {MAX_CELL} characters at most.")
    # A half of a pair of surrogates is no character, and nothing can keep it.
    return tidy(value.encode("utf-8", "replace").decode())


def _wrong(number: int, name: str, sentence: str) -> DoorProblem:
    escaped = name[:40].replace("~", "~0").replace("/", "~1")
    return DoorProblem(422, sentence, pointer=f"/body/rows/{number}/{escaped}".rstrip("/"))
