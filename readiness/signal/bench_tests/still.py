"""``still``: three snaps on the bar, nothing touched. Noise floor, mains, and whether the inputs
are shorted at all.
"""

from __future__ import annotations

import math
from dataclasses import replace

from readiness.signal.bench_tests.findings import finding
from readiness.signal.bench_tests.offset import offset_finding
from readiness.signal.bench_tests.radio import radio_findings, radio_rows
from readiness.signal.bench_tests.view import OFFSET_UV, PICKS_UP_UV, Judgement, View
from readiness.signal.counts import counted
from readiness.signal.leads.events import Events, find_events
from readiness.signal.leads.shape import Shape, shape_of
from readiness.signal.leads.steps import LevelSteps, steps_of
from readiness.signal.limits import SLOW_BAND_HZ, TRAINING_BAND_HZ
from readiness.signal.result import Finding, Measurement
from readiness.signal.spectrum.noise import Floor, fill_weights, floor, unsteadiness
from readiness.signal.spectrum.unsteady_clock import clock_noise
from readiness.signal.statistics.decision import (
    FAIL_SCORE,
    NOT_FIT,
    PASS_SCORE,
    RETEST,
    conforms_noise,
    score_of,
    verdict_of,
)
from readiness.signal.statistics.robust import median

OPEN_FACTOR = 3.0
"""Noise this far above the limit together with hum is an open input: its pick-up and its drift come
together.
"""
CLICKS = 2.0
"""Bursts this far above the noise threshold explain a steep spectrum by themselves: a step falls
with 1/f^2.
"""
DRIFTS = 10.0
"""Slow noise this far above the limit, steep from 20 Hz on, is a bad contact's: muscle rises from
20 to 60 Hz.
"""
HEADROOM = 0.1
"""A resting point this near the end of the range leaves a muscle no room; inputs on one bar rest in
its middle.
"""
CROWDED = 0.6
"""Share of the band's bins lost to mains lines beyond which what is left does not speak for the
band.
"""


def judge(view: View) -> Judgement:
    """Noise score, and findings on everything that makes a quiet bench not what it seems."""
    try:
        full = floor(view.spectrum, *view.band_hz)
        slow = floor(view.spectrum, *SLOW_BAND_HZ)
    except ValueError:
        return Judgement(findings=(_crowded(view, 1.0),))
    training = _training(view)
    least_uv = _least_uv(view, full)
    noise = _noise_score(view, full)
    if training is not None and _stands_above(training, full):
        noise = min(noise, _noise_score(view, training))
    events = find_events(view.trace, view.kind.spans, view.mains.rms_uv, (0.1, 9.9))
    shape = shape_of(view.spectrum, view.trace, view.rate, view.limits.low_pass_hz)
    findings = _findings(view, full, slow, noise, events, shape)
    if least_uv < view.limit_uv:
        findings = tuple(_or_clock(view, item, full, least_uv) for item in findings)
    told = replace(full, low_uv=least_uv)
    measurements = (*_measurements(view, told, training, slow), *radio_rows(view))
    blocked = {"dead_channel", "open_lead", "not_on_bar", "worn_not_shorted", "bench_interference"}
    score: float | None = noise
    if any(item.code in blocked for item in findings):
        score = 0.0 if any(item.code == "dead_channel" for item in findings) else None
    offset = _offset(view) if not any(item.code == "dead_channel" for item in findings) else ()
    return Judgement((*offset, *findings), None, score, measurements, (), events.events)


def _least_uv(view: View, full: Floor) -> float:
    """The lower end of the noise floor's interval, with what an unsteady clock makes of hum."""
    width = full.high_hz - full.low_hz
    clock = clock_noise(view.x, view.trace.band, view.rate, view.mains, width)
    return clock.least_uv(full)


def _or_clock(view: View, item: Finding, full: Floor, least_uv: float) -> Finding:
    """The finding of too much noise, as the room's where the noise comes with the slope of hum and
    may be below the limit without it.
    """
    if item.code != "excess_noise" or item.verdict != NOT_FIT or least_uv == full.low_uv:
        return item
    return finding(
        "bench_interference",
        RETEST,
        f"Noise of {full.rms_uv:.2f} uV RMS comes with the slope of {view.mains.rms_uv:.0f} uV of"
        f" hum, as a recorder's unsteady clock makes of it; the rest may be {least_uv:.2f} uV.",
        action="Test again where there is less hum, the recorder on battery",
    )


def _offset(view: View) -> tuple[Finding, ...]:
    """What the level of the trace says; what varies round it is judged all the same."""
    offset = median(view.x)
    if abs(offset) <= OFFSET_UV or _headroom(view, offset) < HEADROOM:
        return ()
    return (offset_finding(view, offset),)


def _training(view: View) -> Floor | None:
    """Noise in the training band, where the rate reaches it."""
    low, high = TRAINING_BAND_HZ
    if view.band_hz[1] < high:
        return None
    return floor(view.spectrum, low, high)


def _stands_above(training: Floor, full: Floor) -> bool:
    """Whether the training band is surely noisier than the whole at equal density (3.3 standard
    deviations, 5e-4).

    Where it is not, both bands estimate one density and the wide band does it better; asking both
    is asking twice.
    """
    widths = (full.high_hz - full.low_hz) / (training.high_hz - training.low_hz)
    ratio = training.rms_uv / full.rms_uv * math.sqrt(widths)
    return ratio > 1 + 3.3 / math.sqrt(2 * training.dof)


def _noise_score(view: View, part: Floor) -> float:
    limit = view.limits.noise_in_band(part.low_hz, part.high_hz)
    return score_of(conforms_noise(part.rms_uv, part.dof, limit))


def _findings(
    view: View, full: Floor, slow: Floor, noise: float, events: Events, shape: Shape
) -> tuple[Finding, ...]:
    """The one thing that explains the trace best comes first; what it would also cause is not told
    again.
    """
    if full.rms_uv < view.floor_uv:
        return (_dead(view, full),)
    offset = median(view.x)
    if _headroom(view, offset) < HEADROOM:
        return (_near_rail(view, offset),)
    # Noise and drift of an open input come with pick-up; strong hum alone is the room's.
    hum = math.hypot(view.mains.rms_uv, view.still_hum_uv)
    wild = full.rms_uv > OPEN_FACTOR * view.limit_uv or slow.rms_uv > 10 * view.limits.noise_uv
    if shape.beats:
        return (_body(shape, full),)
    if wild and hum > PICKS_UP_UV:
        return (_not_shorted(f"Hum of {hum:.0f} uV comes with noise of {full.rms_uv:.1f} uV"),)
    if full.left_out > CROWDED or hum > view.limits.hum_uv:
        return (_crowded(view, full.left_out),)
    if radio := radio_findings(view):
        return radio
    findings: list[Finding] = []
    highest_uv = max((event.size_uv for event in events.events), default=-math.inf)
    clicks = highest_uv > CLICKS * events.threshold_uv
    wanders = slow.rms_uv > DRIFTS * view.limits.noise_uv
    drifts = wanders and shape.low_over_middle > 3 and not shape.moved
    if shape.is_body and not clicks and not drifts:
        return (_body(shape, full),)
    # A cable that sways does not click: what does both is told by its clicks.
    moved = shape.moved or _comes_and_goes(view, slow)
    if moved and not clicks:
        findings.append(_moved(shape))
    elif slow.rms_uv > view.limits.noise_uv and not moved:
        findings.append(_slow(view, slow))
    if events.conforms < PASS_SCORE / 100 and (clicks or not moved):
        findings.append(_bursts(events))
    elif not findings and (steps := steps_of(view.trace, view.mains.rms_uv)).count:
        findings.append(_steps(steps))
    if noise < PASS_SCORE and not findings:
        findings.append(_excess(view, full, noise))
    return tuple(findings)


def _comes_and_goes(view: View, slow: Floor) -> bool:
    """Whether slow noise above the limit is no steady noise of an amplifier, second by second."""
    if slow.rms_uv <= view.limits.noise_uv:
        return False
    hz, (low, high) = view.spectrum.hz, SLOW_BAND_HZ
    weights = fill_weights(view.spectrum, (hz >= low) & (hz <= high))
    return unsteadiness(view.spectrum, weights) > 1


def _headroom(view: View, offset: float) -> float:
    """Distance of the resting point from the nearer end of the range, as a share of half the range;
    1 where unknown.
    """
    if view.capture.emg.full_scale is None:
        return 1.0
    low, high = view.capture.emg.full_scale
    return 2 * min(offset - low, high - offset) / (high - low)


def _near_rail(view: View, offset: float) -> Finding:
    return finding(
        "clipped",
        NOT_FIT,
        f"The trace rests at {offset / 1000:.2f} mV, within {100 * HEADROOM:.0f} % of the end of"
        " its range: a muscle's signal would be cut off.",
    )


def _dead(view: View, full: Floor) -> Finding:
    return finding(
        "dead_channel",
        NOT_FIT,
        f"The trace is quieter ({full.rms_uv:.3f} uV RMS) than a working input can be"
        f" ({view.floor_uv:.3f} uV RMS): silence here is a fault, not a low noise floor.",
    )


def _not_shorted(evidence: str) -> Finding:
    return finding(
        "open_lead",
        RETEST,
        f"{evidence}. An active lead is open or the snaps are not on the bar; this test cannot tell"
        " which.",
        action="Press all three snaps on the bar and run the lift test: it names the lead",
    )


def _crowded(view: View, left_out: float) -> Finding:
    return finding(
        "bench_interference",
        RETEST,
        f"Mains hum of {view.mains.rms_uv:.0f} uV RMS at {view.mains.frequency_hz:.1f} Hz and its"
        f" harmonics (limit {view.limits.hum_uv:.0f} uV; {100 * left_out:.0f} % of the band"
        " covered) prevents a judgement.",
    )


def _body(shape: Shape, full: Floor) -> Finding:
    return finding(
        "worn_not_shorted",
        RETEST,
        f"The trace is quiet ({full.rms_uv:.1f} uV RMS) but not that of a shorted input:"
        f" {shape.reason}.",
    )


def _moved(shape: Shape) -> Finding:
    return finding(
        "moved_too_early",
        RETEST,
        f"The leads were moved during the test: slow swings of {shape.swing_uv:.0f} uV come"
        " and go.",
    )


def _slow(view: View, slow: Floor) -> Finding:
    sure = slow.low_uv > view.limits.noise_uv
    return finding(
        "low_frequency_noise",
        NOT_FIT if sure else RETEST,
        f"Slow noise from {slow.low_hz:.0f} to {slow.high_hz:.0f} Hz is {slow.rms_uv:.1f} uV RMS, "
        f"above {view.limits.noise_uv:.1f} uV: a bad contact or a worn input.",
    )


def _bursts(events: Events) -> Finding:
    if not events.events:
        return finding(
            "burst_noise",
            RETEST,
            f"A peak of the noise is rarer than one capture in {1 / events.chance:.0f}.",
        )
    highest = max(event.size_uv for event in events.events)
    bursts = counted(len(events.events), "abrupt burst", "abrupt bursts")
    return finding(
        "burst_noise",
        RETEST,
        f"{bursts} of up to {highest:.0f} uV although nothing was touched.",
    )


def _steps(steps: LevelSteps) -> Finding:
    times = counted(steps.count, "step", "steps")
    return finding(
        "burst_noise",
        RETEST,
        f"{times} of up to {steps.highest_uv:.1f} uV between two levels although nothing was"
        " touched, as a bad transistor or contact gives.",
    )


def _excess(view: View, full: Floor, score: float) -> Finding:
    verdict = verdict_of(score)
    words = "is above" if score <= FAIL_SCORE else "is not surely below"
    return finding(
        "excess_noise",
        verdict,
        f"The noise floor ({full.rms_uv:.2f} uV RMS, 95 % interval {full.low_uv:.2f} to"
        f" {full.high_uv:.2f}) {words} the limit: {view.limit_words}.",
        action=(
            None if verdict == NOT_FIT else "Test again; the mean of two tests decides a close case"
        ),
    )


def _measurements(
    view: View, full: Floor, training: Floor | None, slow: Floor
) -> tuple[Measurement, ...]:
    rows = [_row("noise_full_band", full, view.limit_uv)]
    if training is not None:
        limit = view.limits.noise_in_band(*TRAINING_BAND_HZ)
        rows.append(_row("noise_training_band", training, limit))
    rows.append(_row("noise_slow_band", slow, view.limits.noise_uv))
    return tuple(rows)


def _row(name: str, part: Floor, limit: float) -> Measurement:
    return Measurement(name, part.rms_uv, "uV", part.low_uv, part.high_uv, limit)
