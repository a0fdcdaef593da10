"""Tables from outside, read in a process of their own (`rentals.limited_process`)."""

from __future__ import annotations

from typing import Any

from rentals.limited_process import NotOpened, ProcessLimits, run_limited

from .reading import read_roster
from .sheet import MAX_BYTES, TOO_LARGE, RosterSheet, RosterUnreadable, SheetRow

LIMITS = ProcessLimits(seconds=10, mib=256)
_ADVICE = "Save the table as CSV, only the rows that count, and send that."


def read_roster_apart(content: bytes, letters: str = "") -> RosterSheet:
    """Rows of a roster file, as `rentals.roster.reading.read_roster` gives them.

    Raises
    ------
    RosterUnreadable
        As there, and if the file takes more time or memory than a table needs.
    """
    if len(content) > MAX_BYTES:
        raise RosterUnreadable(TOO_LARGE)
    try:
        facts, _ = run_limited(read_rows, {"letters": letters}, content, LIMITS)
    except NotOpened as not_opened:
        raise RosterUnreadable(not_opened.words(_ADVICE)) from not_opened
    if "refusal" in facts:
        raise RosterUnreadable(str(facts["refusal"]))
    rows = tuple(_row(*row) for row in facts["rows"])
    return RosterSheet(rows, tuple(map(str, facts["notes"])), str(facts["letters"]))


def _row(number: int, cells: list[str], troubles: list[tuple[int, str]], width: int) -> SheetRow:
    in_words = {int(column): str(sentence) for column, sentence in troubles}
    return SheetRow(int(number), tuple(map(str, cells)), in_words, int(width))


# In the other process ------------------------------------------------------
def read_rows(facts: dict[str, Any], content: bytes) -> tuple[dict[str, Any], bytes]:
    """The rows as JSON can carry them, or why there are none."""
    try:
        sheet = read_roster(content, facts["letters"])
    except RosterUnreadable as unreadable:
        return {"refusal": str(unreadable)}, b""
    rows = [[row.number, row.cells, list(row.troubles.items()), row.width] for row in sheet.rows]
    return {"rows": rows, "notes": sheet.notes, "letters": sheet.letters}, b""
