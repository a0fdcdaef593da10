"""Every spike of a trace gets a number: those a judge counts, and the others with what explains
them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from readiness.signal.bench_tests.view import EARLY_HANDS_S, View
from readiness.signal.leads.events import JOIN_S, find_events, lead_at
from readiness.signal.leads.shape import beats_per_minute
from readiness.signal.leads.spikes import SEEN, Spike, spikes_of
from readiness.signal.result import AbruptEvent, Finding

RECOVERS_S = 0.6
"""A high-pass of half a hertz and more has forgotten a step by then, but for a tenth."""
FADES = 0.8
"""What recovers is lower than what it recovers from."""
LEAD_WORDS = {"A": "lead A", "B": "lead B", "ground": "ground"}

_BY_FINDING = {
    "worn_not_shorted": "a body: beat of a heart, or muscle",
    "moved_too_early": "movement before the call",
    "no_movement": "peak in a trace in which nothing was moved",
    "not_on_bar": "input off the bar",
    "open_lead": "input that is open",
    "leads_shorted": "edge without a lift behind it",
    "bench_interference": "hum of the room",
    "burst_noise": "burst of noise",
    "low_frequency_noise": "slow noise that comes and goes",
    "excess_noise": "peak of the noise",
    "stuck_bits": "step of the converter",
    "saturated": "end of the range",
    "clipped": "end of the range",
    "dead_channel": "change of a channel that is dead elsewhere",
    "wrong_scale": "change in a trace of unknown scale",
    "missing_samples": "edge of a gap",
    "not_raw": "peak of a signal that is not raw",
    "repeated_samples": "edge of a repeated piece",
    "wrong_post": "peak on the ordinary post",
    "time_base": "change in a trace of unknown rate",
}
TOO_SOFT = "too low or too slow for a contact that opens"


def numbered_events(
    view: View, judged: Sequence[AbruptEvent], findings: Sequence[Finding], *, measurable: bool
) -> tuple[AbruptEvent, ...]:
    """All that stands out of a trace, in order of time: the events a judge counts, as they are, and
    every other spike that a drawing shows, with its reason.

    Parameters
    ----------
    view : View
        The capture; its trace is looked at as it was recorded.
    judged : sequence of AbruptEvent
        What the judge of the test counts.
    findings : sequence of Finding
        All findings of the capture, the gravest first: they explain what no act does.
    measurable : bool
        Whether the trace can be filtered at all; else it is only looked at.
    """
    rest = [
        AbruptEvent(spike.start_s, spike.end_s, spike.size_uv, *_place(view, spike))
        for spike in spikes_of(view.x, view.rate)
        if not _covered(spike, judged)
    ]
    if measurable and not judged and (findings or view.kind.act == "lift"):
        rest += _unjudged(view, rest)
    in_order = sorted((*judged, *rest), key=lambda event: event.start_s)
    of_judge = set(map(id, judged))
    usual = _usual_reason(view, findings, measurable=measurable) if rest else ""
    return tuple(
        replace(event, reason=_by_act(view, event))
        if id(event) in of_judge
        else replace(event, reason=_recovery(event, in_order) or _by_act(view, event) or usual)
        for event in in_order
    )


def _unjudged(view: View, shown: Sequence[AbruptEvent]) -> list[AbruptEvent]:
    """Jumps of a capture whose judge looks for other things, or found something graver."""
    jumps = find_events(view.trace, view.kind.spans, view.still_lines_uv).events
    least_uv = SEEN * float(np.ptp(view.x))
    return [jump for jump in jumps if jump.size_uv > least_uv and not _covered(jump, shown)]


def _covered(spike: Spike | AbruptEvent, events: Iterable[AbruptEvent]) -> bool:
    return any(
        event.start_s - JOIN_S <= spike.end_s and spike.start_s <= event.end_s + JOIN_S
        for event in events
    )


def _place(view: View, spike: Spike) -> tuple[str, str | None]:
    return lead_at(view.kind.spans, spike.start_s, spike.end_s)


def _recovery(event: AbruptEvent, in_order: Sequence[AbruptEvent]) -> str:
    """Of which number an event is the recovery; empty where it stands for itself."""
    before = [
        (earlier.size_uv, number)
        for number, earlier in enumerate(in_order, 1)
        if 0 <= event.start_s - earlier.end_s <= RECOVERS_S
    ]
    highest_uv, number = max(before, default=(0.0, 0))
    return f"recovery of {number}" if event.size_uv < FADES * highest_uv else ""


def _by_act(view: View, event: AbruptEvent) -> str:
    """What the hands did there, by the test; empty where they explain nothing."""
    kind, in_hand = view.kind, event.start_s > EARLY_HANDS_S and event.window in LEAD_WORDS
    if kind.act == "lift" and in_hand:
        return f"{LEAD_WORDS[event.window]} lifted or put back"
    if kind.second_post and in_hand and event.window != "ground":
        return f"{LEAD_WORDS[event.window]} flexed on the second post; flex judges it"
    return ""


def _usual_reason(view: View, findings: Sequence[Finding], *, measurable: bool) -> str:
    if view.kind.worn and measurable:
        beats = beats_per_minute(view.trace) is not None
        return "beat of the heart" if beats else "muscle, skin or heart"
    reasons = (_BY_FINDING.get(item.code, "") for item in findings)
    return next((reason for reason in reasons if reason), TOO_SOFT)
