"""``flex``: each lead bent in turn while the bar is held. Broken strands open abruptly, by lead."""

from __future__ import annotations

from readiness.signal.bench_tests.baseline import baseline
from readiness.signal.bench_tests.findings import Finding, finding
from readiness.signal.bench_tests.view import Judged, Measurement, View
from readiness.signal.leads.events import LEADS, Event, Events, find_events
from readiness.signal.statistics.decision import NOT_FIT, RETEST, score_of

STILL_END_S = 1.9
"""An operator half a second early begins at 2.0 s; what comes before is not a flexed lead."""
CLEAR = 2.0
"""A single event counts as a fault of the kit from twice the noise threshold on; below that the
room may click.
"""


def judge(view: View) -> Judged:
    """Continuity score from the abrupt events; a baseline that is not a shorted input is told
    first.
    """
    abnormal = baseline(view)
    if abnormal and abnormal.code in ("excess_noise", "low_frequency_noise"):
        events = find_events(view.trace, view.test, view.still_lines_uv)
        return Judged((abnormal, *_findings(events)), None, None, (), (), events.events)
    if abnormal:
        return Judged(findings=(abnormal,))
    events = find_events(view.trace, view.test, view.still_lines_uv)
    findings = _findings(events)
    told_apart = not any(item.code == "burst_noise" for item in findings)
    continuity = _score(events, findings) if told_apart else None
    row = Measurement("abrupt_peak", _highest(events), "uV", None, None, events.threshold_uv)
    return Judged(findings, continuity, None, (row,), (), events.events)


def _score(events: Events, findings: tuple[Finding, ...]) -> float:
    """100 while noise explains the highest peak; between once and ``CLEAR`` times the threshold it
    falls to nothing.
    """
    if not any(item.verdict == RETEST for item in findings) or any(
        item.verdict == NOT_FIT for item in findings
    ):
        return score_of(events.conforms)
    share = (_highest(events) / max(events.threshold_uv, 1e-9) - 1) / (CLEAR - 1)
    return score_of(min(0.949, max(0.051, 1 - share)))


def _findings(events: Events) -> tuple[Finding, ...]:
    if events.conforms >= 0.95:
        return ()
    early = tuple(event for event in events.events if event.end_s <= STILL_END_S)
    later = tuple(event for event in events.events if event.end_s > STILL_END_S)
    if early:
        return (
            finding(
                "burst_noise",
                RETEST,
                f"{len(early)} abrupt bursts before any lead was flexed, {len(later)} after: not by"
                " the flexing alone.",
                events=events.events,
            ),
        )
    if not later:
        return (
            finding(
                "burst_noise",
                RETEST,
                "A peak of the noise is rarer than sound kits give in a thousand tests.",
            ),
        )
    named = sorted({event.lead for event in later if event.lead}, key=LEADS.index)
    if not named:
        return (_intermittent(None, later, events),)
    return tuple(_intermittent(lead, _near(lead, named, later), events) for lead in named)


def _near(lead: str, named: list[str], events: tuple[Event, ...]) -> tuple[Event, ...]:
    """Events of a lead, and those between two leads when only this one is named."""
    return tuple(
        event for event in events if event.lead == lead or (event.lead is None and len(named) == 1)
    )


def _intermittent(lead: str | None, seen: tuple[Event, ...], events: Events) -> Finding:
    highest = max(event.size_uv for event in seen)
    sure = highest > CLEAR * events.threshold_uv or len(seen) > 2
    name = f"Lead {lead}" if lead else "A lead (the moment lies between two)"
    times = ", ".join(f"{event.start_s:.2f}" for event in seen[:5])
    return finding(
        "intermittent_lead",
        NOT_FIT if sure else RETEST,
        f"{name} opens when flexed: {len(seen)} abrupt jump{'s' if len(seen) > 1 else ''} of up to"
        f" {highest:.0f} uV at {times} s.",
        lead=lead,
        events=seen,
    )


def _highest(events: Events) -> float:
    return max((event.size_uv for event in events.events), default=0.0)
