"""What readers and the integrity check noticed, as findings: what the kit did apart from what file
or room did.
"""

from __future__ import annotations

from dataclasses import replace

from readiness.signal.capture import Note
from readiness.signal.result import Finding
from readiness.signal.statistics.decision import NOT_FIT, RETEST

from .findings import FINDING_KINDS, finding
from .view import EARLY_HANDS_S, View, swings_rail_to_rail

STOPS = {"dead_channel", "wrong_scale", "missing_samples", "time_base", "not_raw"}
"""After these there is nothing to measure: the numbers are not microvolts, not in time, or not a
signal.
"""
RAILS = {"saturated", "clipped"}
STANDS_STILL = {"dead_channel", "repeated_samples"}
MOVES_BEFORE_S = 9.5


def note_findings(notes: tuple[Note, ...], view: View) -> tuple[tuple[Finding, ...], bool]:
    """Findings for notes, and whether they leave nothing to judge.

    Rails, and a trace held at a stage's stop, are expected while a lead is lifted, and rails are an
    open contact while one is flexed; the bench tests judge those. Where nothing moves a rail is the
    kit's.
    """
    if not view.band_wide_enough:
        return (_too_slow(view),), True
    findings: list[Finding] = []
    blocked = False
    for note in _together(notes):
        if note.code not in FINDING_KINDS or _expected(note, view):
            continue
        if note.code in RAILS:
            findings.append(_at_rail(note, view))
            blocked = True
            continue
        verdict = FINDING_KINDS[note.code].usual_verdict
        findings.append(finding(note.code, verdict, note.text))
        blocked = blocked or note.code in STOPS
    return tuple(findings), blocked


def _together(notes: tuple[Note, ...]) -> list[Note]:
    """The notes, those on missing samples as one: a finding is told once, and every gap in it."""
    missing = [note for note in notes if note.code == "missing_samples"]
    if len(missing) < 2:
        return list(notes)
    others = [note for note in notes if note.code != "missing_samples"]
    told = " ".join(dict.fromkeys(note.text for note in missing))
    return [replace(missing[0], text=told), *others]


def _expected(note: Note, view: View) -> bool:
    """Whether the hands explain what was noticed, so that the test's own judge looks at it."""
    act = view.kind.act
    if note.code in RAILS:
        return act != "rest"
    # A lead off the bar: its bias current can drive the first stage to its stop, which then passes
    # less than one step of a coarse converter. A trace that stands still there is a lead that
    # reacts.
    # One that stood still before and moves under the hands is no dead channel.
    hands_on = (note.start_s or 0.0) > EARLY_HANDS_S
    moves = note.end_s is not None and note.end_s < MOVES_BEFORE_S
    return act == "lift" and note.code in STANDS_STILL and (hands_on or moves)


def _at_rail(note: Note, view: View) -> Finding:
    """A rail while nothing moves: at one end the kit is stuck there, at both ends an open input
    swings with the room.
    """
    swings = swings_rail_to_rail(view)
    if view.still_hum_uv > view.limits.hum_uv and not swings:
        text = (
            f"Hum of {view.still_hum_uv:.0f} uV drives the trace to the end of its range: the room,"
            " or an open lead."
        )
        return finding("bench_interference", RETEST, text)
    if swings:
        text = (
            "The trace swings from one end of its range to the other: an active lead is open, "
            "or the snaps are not on the bar."
        )
        action = "Press all three snaps on the bar and run the lift test: it names the lead"
        return finding("open_lead", RETEST, text, action=action)
    return finding(note.code, NOT_FIT, note.text)


def _too_slow(view: View) -> Finding:
    low, high = view.band_hz
    return finding(
        "time_base",
        RETEST,
        f"{view.rate:g} samples a second leave a band of {low:.0f} to {high:.0f} Hz, too narrow to"
        " judge a noise floor.",
        action="Record at 256 samples a second or more",
    )
