"""``flex``: each lead bent in turn while the bar is held. Broken strands open abruptly, by lead."""

from __future__ import annotations

import numpy as np

from readiness.signal.continuity import LEADS, Event, Events, find_events
from readiness.signal.decision import NOT_FIT, RETEST, score_of
from readiness.signal.findings import Finding, finding
from readiness.signal.shape import beats_per_minute, steepness
from readiness.signal.view import OFFSET_UV, Judged, Measurement, View

STILL_END_S = 1.9
"""An operator half a second early begins at 2.0 s; what comes before is not a flexed lead."""
NOISY = 1.5
STEEPER = 3.0
"""The limit of ``shape`` raised by five standard deviations of a ratio from two frames (a tenth each)."""
CLEAR = 2.0
"""A single event counts as a fault of the kit from twice the noise threshold on; below that the room may click."""


def judge(view: View) -> Judged:
    """Continuity score from the abrupt events; a baseline that is not a shorted input is told first."""
    abnormal = baseline(view)
    if abnormal and abnormal.code == "excess_noise":
        events = find_events(view.trace, view.test, view.still_lines_uv)
        return Judged((abnormal, *_findings(events)), None, None, (), (), events.events)
    if abnormal:
        return Judged(findings=(abnormal,))
    events = find_events(view.trace, view.test, view.still_lines_uv)
    findings = early_motion(view) + _findings(events)
    continuity = _score(events, findings)
    if any(item.code in ("moved_too_early", "burst_noise") for item in findings):
        continuity = None
    row = Measurement("abrupt_peak", _highest(events), "uV", None, None, events.threshold_uv)
    return Judged(findings, continuity, None, (row,), (), events.events)


def _score(events: Events, findings: tuple[Finding, ...]) -> float:
    """100 while noise explains the highest peak; between once and ``CLEAR`` times the threshold it falls to nothing."""
    if not any(item.verdict == RETEST for item in findings) or any(item.verdict == NOT_FIT for item in findings):
        return score_of(events.conforms)
    share = (_highest(events) / max(events.threshold_uv, 1e-9) - 1) / (CLEAR - 1)
    return score_of(min(0.949, max(0.051, 1 - share)))


def baseline(view: View) -> Finding | None:
    """What is wrong with the still part already, if anything."""
    trace = view.trace
    still = trace.segments(0.1, 2.0)
    offset = float(np.median(trace.offset[still]))
    begun = _begun_early(view)
    if begun:
        return begun
    if abs(offset) > OFFSET_UV or float(np.median(trace.railed[still])) > 0.02:
        return _open(
            f"the trace stands at {offset / 1000:.1f} mV or at the end of its range before any lead is touched"
        )
    if view.still_noise_uv < view.floor_uv / 2:
        return finding(
            "dead_channel", NOT_FIT,
            f"The still part has {view.still_noise_uv:.3f} uV RMS of noise, less than a working input can have.",
        )  # fmt: skip
    if view.still_hum_uv <= view.limits.hum_uv:
        return _noisy(view)
    if view.still_noise_uv > 3 * view.limit_uv:
        return _open(f"hum of {view.still_hum_uv:.0f} uV comes with noise of {view.still_noise_uv:.1f} uV")
    return finding(
        "bench_interference",
        RETEST,
        f"Mains hum of {view.still_hum_uv:.0f} uV RMS hides small interruptions: the room, or an open lead.",
    )


def _noisy(view: View) -> Finding | None:
    """A still part with beats, or far noisier than a shorted input may be.

    Two frames give the noise to a tenth or better at any rate; half as much again is five times that.
    """
    beats = beats_per_minute(view.trace) if view.test == "flex" else None
    if beats is not None:
        text = f"Beats at {beats:.0f} a minute: this is a body, not a shorted input."
        return finding("worn_not_shorted", RETEST, text)
    noise = view.still_noise_uv
    steep = steepness(view.still_spectrum, view.rate)
    if steep > STEEPER and noise > view.limit_uv / 4:
        text = f"The noise falls {steep:.1f}-fold towards high frequencies, as muscle does: not a shorted input."
        return finding("worn_not_shorted", RETEST, text)
    if noise <= NOISY * view.limit_uv:
        return None
    if view.still_hum_uv > view.limits.hum_uv / 5:
        return _open(f"hum of {view.still_hum_uv:.0f} uV comes with noise of {noise:.1f} uV")
    text = f"{noise:.1f} uV RMS of noise before any lead is touched, far above the limit of {view.limit_uv:.1f} uV."
    return finding("excess_noise", RETEST, text, action="Run the still test: it judges the noise floor")


def _begun_early(view: View) -> Finding | None:
    """A quiet start that turns into an open input within the still part: the first lead was lifted too early."""
    trace = view.trace
    first, later = trace.segments(0.0, 0.6), trace.segments(0.25, 2.0)
    if not len(first) or not len(later):
        return None
    quiet, loud = float(trace.hum_rms[first].min()), float(trace.hum_rms[later].max())
    if quiet < view.limits.hum_uv and loud > 10 * max(quiet, 3 * trace.hum_u):
        return finding("moved_too_early", RETEST, "A lead came off the bar before the call: nothing to compare with.")
    return None


def early_motion(view: View) -> tuple[Finding, ...]:
    """Movement in the part that should be still, seen by slow swings far above those of its first half second."""
    trace = view.trace
    first = trace.segments(0.0, 0.6)
    before = trace.segments(0.25, 1.75)
    if not len(first) or not len(before):
        return ()
    quiet = float(trace.swing[first].min())
    swing = float(trace.swing[before].max())
    worked = float(np.median(trace.swing[trace.segments(2.5, 7.5)]))
    noise = float(np.median(trace.noise))
    if swing > 4 * quiet and swing > 8 * noise and swing > 0.25 * worked:
        return (
            finding(
                "moved_too_early", RETEST, f"Slow swings of {swing:.0f} uV before the call: nothing to compare with."
            ),
        )
    return ()


def _findings(events: Events) -> tuple[Finding, ...]:
    if events.conforms >= 0.95:
        return ()
    early = tuple(event for event in events.events if event.end_s <= STILL_END_S)
    later = tuple(event for event in events.events if event.end_s > STILL_END_S)
    if early:
        return (
            finding(
                "burst_noise", RETEST,
                f"{len(early)} abrupt bursts before any lead was flexed, {len(later)} after: not by the flexing alone.",
                events=events.events,
            ),
        )  # fmt: skip
    if not later:
        return (
            finding("burst_noise", RETEST, "A peak of the noise is rarer than sound kits give in a thousand tests."),
        )
    named = sorted({event.lead for event in later if event.lead}, key=LEADS.index)
    if not named:
        return (_intermittent(None, later, events),)
    return tuple(_intermittent(lead, _near(lead, named, later), events) for lead in named)


def _near(lead: str, named: list[str], events: tuple[Event, ...]) -> tuple[Event, ...]:
    """Events of a lead, and those between two leads when only this one is named."""
    return tuple(event for event in events if event.lead == lead or (event.lead is None and len(named) == 1))


def _intermittent(lead: str | None, seen: tuple[Event, ...], events: Events) -> Finding:
    highest = max(event.size_uv for event in seen)
    sure = highest > CLEAR * events.threshold_uv or len(seen) > 2
    name = f"Lead {lead}" if lead else "A lead (the moment lies between two)"
    times = ", ".join(f"{event.start_s:.2f}" for event in seen[:5])
    return finding(
        "intermittent_lead", NOT_FIT if sure else RETEST,
        f"{name} opens when flexed: {len(seen)} abrupt jump{'s' if len(seen) > 1 else ''} of up to {highest:.0f} uV "
        f"at {times} s.",
        lead=lead, events=seen,
    )  # fmt: skip


def _open(evidence: str) -> Finding:
    return finding(
        "open_lead", RETEST, f"Open input: {evidence}. A lead is open or the snaps are not on the bar.",
        action="Press all three snaps on the bar and run the lift test: it names the lead",
    )  # fmt: skip


def _highest(events: Events) -> float:
    return max((event.size_uv for event in events.events), default=0.0)
