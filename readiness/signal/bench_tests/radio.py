"""Bursts of a phone or another radio near the bench: the room's, whatever the test."""

from __future__ import annotations

from dataclasses import replace

from readiness.signal.bench_tests.findings import finding
from readiness.signal.bench_tests.view import View
from readiness.signal.counts import counted
from readiness.signal.result import Finding, Measurement
from readiness.signal.statistics.decision import NOT_FIT, RETEST

PLACES_NAMED = 5
RADIO_BURSTS = "radio_bursts"
"""Name of the measurement that tells the kit's verdict of them."""


def radio_findings(view: View) -> tuple[Finding, ...]:
    """One finding where bursts keep time, as a radio does and no contact; empty where none does."""
    spans = view.trace.clocked
    if not spans:
        return ()
    bursts = counted(len(spans), "burst", "bursts")
    times = ", ".join(f"{start_s:.2f}" for start_s, _ in spans[:PLACES_NAMED])
    text = (
        f"{bursts} of regular pulses (at {times} s), as a phone or another radio sends: the room,"
        " not the kit."
    )
    action = "Take phones and radios two metres away and test again"
    return (finding("bench_interference", RETEST, text, action=action),)


def radio_rows(view: View) -> tuple[Measurement, ...]:
    """How many such bursts, where there are any."""
    count = len(view.trace.clocked)
    return (Measurement(RADIO_BURSTS, count, "count"),) if count else ()


def not_by_lead_alone(found: Finding) -> Finding:
    """The finding of a lead that opens, as no more than a reason to test again: where bursts come
    by themselves, one that falls into a lead's window is no proof against that lead.
    """
    if found.code != "intermittent_lead" or found.verdict != NOT_FIT:
        return found
    text = f"{found.text} Bursts came when nothing was bent, too: not surely the lead."
    return replace(
        found, verdict=RETEST, text=text, action="Take phones and radios away and flex again"
    )
