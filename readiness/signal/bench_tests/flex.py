"""``flex``: each lead bent in turn while the bar is held. Broken strands open abruptly, by lead."""

from __future__ import annotations

from readiness.signal.bench_tests.baseline import baseline
from readiness.signal.bench_tests.findings import finding
from readiness.signal.bench_tests.moved import movement
from readiness.signal.bench_tests.radio import not_by_lead_alone, radio_findings, radio_rows
from readiness.signal.bench_tests.view import EARLY_HANDS_S, Judgement, View
from readiness.signal.catalogue import LEADS
from readiness.signal.counts import counted
from readiness.signal.leads.events import Events, find_events
from readiness.signal.result import AbruptEvent, Finding, Measurement
from readiness.signal.statistics.decision import NOT_FIT, RETEST, score_of

CLEAR = 2.0
"""A single event counts as a fault of the kit from twice the noise threshold on; below that the
room may click.
"""


def judge(view: View) -> Judgement:
    """Continuity score from the abrupt events; a baseline that is not a shorted input is told
    first, and leads that were not moved are not judged.
    """
    abnormal = baseline(view)
    radio = radio_findings(view)
    if radio and abnormal and abnormal.code not in ("open_lead", "dead_channel"):
        abnormal = None  # a phone bends noise and spectrum of the still part
    if abnormal and abnormal.code not in ("excess_noise", "low_frequency_noise"):
        return Judgement(findings=(abnormal,))
    events = find_events(view.trace, view.kind.spans, view.still_lines_uv)
    if radio:
        opened = map(not_by_lead_alone, _findings(events))
        return Judgement((*radio, *opened), None, None, radio_rows(view), (), events.events)
    if abnormal:
        return Judgement((abnormal, *_findings(events)), events=events.events)
    findings = _findings(events)
    told_apart = not any(item.code == "burst_noise" for item in findings)
    moved = movement(view)
    opens = any(item.verdict == NOT_FIT for item in findings)
    judged = told_apart and (opens or not moved.is_open)
    continuity = _score(events, findings) if judged else None
    row = Measurement("abrupt_peak", _highest(events), "uV", None, None, events.threshold_uv)
    rows = (row, *moved.measurements)
    return Judgement((*findings, *moved.findings), continuity, None, rows, (), events.events)


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
    early = tuple(event for event in events.events if event.end_s <= EARLY_HANDS_S)
    later = tuple(event for event in events.events if event.end_s > EARLY_HANDS_S)
    if early:
        bursts = counted(len(early), "abrupt burst", "abrupt bursts")
        text = f"{bursts} before any lead was flexed, {len(later)} after: not by the flexing alone."
        return (finding("burst_noise", RETEST, text),)
    if not later:
        return (
            finding(
                "burst_noise",
                RETEST,
                "A peak of the noise is rarer than sound kits give in a thousand tests.",
            ),
        )
    leads = sorted({event.lead for event in later if event.lead}, key=LEADS.index)
    if not leads:
        return (_intermittent(None, later, events.threshold_uv),)
    return tuple(
        _intermittent(lead, _near(lead, leads, later), events.threshold_uv) for lead in leads
    )


def _near(
    lead: str, named_leads: list[str], events: tuple[AbruptEvent, ...]
) -> tuple[AbruptEvent, ...]:
    """Events of a lead, and those between two leads when only this one is named."""
    return tuple(
        event
        for event in events
        if event.lead == lead or (event.lead is None and len(named_leads) == 1)
    )


def _intermittent(
    lead: str | None, events: tuple[AbruptEvent, ...], threshold_uv: float
) -> Finding:
    highest = max(event.size_uv for event in events)
    sure = highest > CLEAR * threshold_uv or len(events) > 2
    name = f"Lead {lead}" if lead else "A lead (the moment lies between two)"
    times = ", ".join(f"{event.start_s:.2f}" for event in events[:5])
    jumps = counted(len(events), "abrupt jump", "abrupt jumps")
    return finding(
        "intermittent_lead",
        NOT_FIT if sure else RETEST,
        f"{name} opens when flexed: {jumps} of up to {highest:.0f} uV at {times} s.",
        lead=lead,
    )


def _highest(events: Events) -> float:
    return max((event.size_uv for event in events.events), default=0.0)
