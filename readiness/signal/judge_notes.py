"""What readers and the integrity check noticed, as findings: what the kit did apart from what file or room did."""

from __future__ import annotations

from .capture import Note
from .decision import NOT_FIT, RETEST
from .findings import CODES, Finding, finding
from .view import View

KIT_DID = {"dead_channel", "stuck_bits"}
STOPS = {"dead_channel", "wrong_scale", "missing_samples", "time_base"}
"""After these there is nothing to measure: the numbers are not microvolts, not in time, or not a signal."""
RAILS = {"saturated", "clipped"}


def note_findings(notes: tuple[Note, ...], view: View) -> tuple[tuple[Finding, ...], bool]:
    """Findings for notes, and whether they leave nothing to judge.

    Rails are expected while a lead is lifted, and are an open contact while one is flexed; the bench tests judge those.
    In ``still`` nothing moves: there a rail is the kit's.
    """
    found: list[Finding] = []
    blocked = False
    for note in notes:
        if note.code not in CODES:
            continue
        if note.code in RAILS and view.test != "still":
            continue
        if note.code in RAILS:
            found.append(finding(note.code, NOT_FIT, note.text))
            blocked = True
            continue
        found.append(finding(note.code, NOT_FIT if note.code in KIT_DID else RETEST, note.text))
        blocked = blocked or note.code in STOPS
    return tuple(found), blocked
