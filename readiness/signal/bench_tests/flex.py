"""``flex``: each lead bent in turn while the bar is held. Broken strands open abruptly, by lead; a
cable that rubs spikes, and opens nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

from readiness.signal.bench_tests.baseline import baseline
from readiness.signal.bench_tests.findings import finding
from readiness.signal.bench_tests.moved import movement
from readiness.signal.bench_tests.radio import not_by_lead_alone, radio_findings, radio_rows
from readiness.signal.bench_tests.view import EARLY_HANDS_S, Judgement, View
from readiness.signal.catalogue import Span
from readiness.signal.counts import counted
from readiness.signal.leads.contacts import RUBS_UV, parting, whose
from readiness.signal.leads.events import Events, find_events
from readiness.signal.result import AbruptEvent, Finding, Measurement
from readiness.signal.statistics.decision import NOT_FIT, RETEST, score_of

CLEAR = 2.0
"""Where events are all that speaks, the score falls to nothing at so many times the threshold."""
NAMED = 5


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
        opened = map(not_by_lead_alone, _findings(events, view))
        return Judgement((*radio, *opened), None, None, radio_rows(view), (), events.events)
    if abnormal:
        return Judgement((abnormal, *_findings(events, view)), events=events.events)
    findings = _findings(events, view)
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


def _findings(events: Events, view: View) -> tuple[Finding, ...]:
    full_scale, windows = view.capture.emg.full_scale, view.kind.spans
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
    parted = parting(later, full_scale)
    return (_intermittent(parted, windows),) if parted else (_rubs(later),)


def _intermittent(events: tuple[AbruptEvent, ...], windows: Sequence[Span]) -> Finding:
    """A lead that opens: one lead, though a neighbour's cable may have pulled it."""
    lead = whose(events, windows)
    name = f"Lead {lead}" if lead else "A lead (the moment lies between two)"
    text = f"{name} opens when flexed: {_jumps(events)}."
    pulled = sorted({event.lead for event in events if event.lead and event.lead != lead})
    if lead and pulled:
        text += (
            f" Some of them came while {' and '.join(pulled)} was bent: the cable moved with it."
        )
    return finding("intermittent_lead", NOT_FIT, text, lead=lead)


def _rubs(events: tuple[AbruptEvent, ...]) -> Finding:
    """Spikes that a sound cable gives as well. Those of the ground's window alone may be its
    contact: that shows no higher.
    """
    text = (
        f"{_jumps(events)}: lower than the {RUBS_UV:.0f} uV from which on a contact has opened. A"
        " cable that rubs gives such spikes"
    )
    ground = any(event.lead == "ground" for event in events)
    if ground and all(event.lead in ("ground", None) for event in events):
        return finding(
            "intermittent_lead",
            RETEST,
            f"{text}, and a ground lead that opens does, too.",
            lead="ground",
            action=(
                "Let the cables hang free and flex again; if it comes again with the ground lead"
                " only, run the ground test with the second post"
            ),
        )
    return finding(
        "burst_noise",
        RETEST,
        f"{text}: let the cables hang free.",
        action="Let the cables hang free of the table and of each other, and flex again",
    )


def _jumps(events: tuple[AbruptEvent, ...]) -> str:
    highest = max(event.size_uv for event in events)
    times = ", ".join(f"{event.start_s:.2f}" for event in events[:NAMED])
    jumps = counted(len(events), "abrupt jump", "abrupt jumps")
    return f"{jumps} of up to {highest:.0f} uV at {times} s"


def _highest(events: Events) -> float:
    return max((event.size_uv for event in events.events), default=0.0)
