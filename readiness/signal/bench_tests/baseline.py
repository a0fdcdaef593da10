"""The still part at the head of flex, lift and ground: is it that of a shorted input, before a lead
is touched?
"""

from __future__ import annotations

import math

from readiness.signal.bench_tests.findings import finding
from readiness.signal.bench_tests.offset import offset_finding
from readiness.signal.bench_tests.view import OFFSET_UV, PICKS_UP_UV, View
from readiness.signal.leads.shape import beats_per_minute, falls_evenly, steepness
from readiness.signal.limits import SLOW_BAND_HZ
from readiness.signal.result import Finding
from readiness.signal.spectrum.noise import band_rms, thermal_uv
from readiness.signal.statistics.decision import NOT_FIT, RETEST
from readiness.signal.statistics.robust import median

NOISY = 1.5
"""Two frames give the noise to a tenth or better at any rate; half as much again is five times
that.
"""
SLOW = 2.5
"""Slow noise before any hand moves, over the noise limit: a shorted input held still has less than
the limit.
"""
STEEPER = 3.0
"""The limit of ``shape`` raised by five standard deviations of a ratio from two frames (a tenth
each).
"""
HUMS = 20.0
"""Hum so far above the noise limit leaves enough beside its lines, in two frames, to bend the shape
of a spectrum.
"""
POST_OHM = 100e3
"""The second post of the ground test; its thermal noise is the post's, not the kit's."""


def baseline(view: View) -> Finding | None:
    """What is wrong with the still part already, if anything."""
    trace = view.trace
    still = trace.segments(0.1, 2.0)
    offset = median(trace.offset[still])
    early = _begun_early(view)
    if early:
        return early
    if median(trace.railed[still]) > 0.02:
        return _open(
            f"the trace stands at the end of its range, at {offset / 1000:.1f} mV, before any lead"
            " is touched"
        )
    if abs(offset) > OFFSET_UV:
        return offset_finding(view, offset)
    if view.still_noise_uv < view.floor_uv / 2:
        return finding(
            "dead_channel",
            NOT_FIT,
            f"The still part has {view.still_noise_uv:.3f} uV RMS of noise, less than a working"
            " input can have.",
        )
    if view.kind.second_post or view.still_hum_uv <= view.limits.hum_uv:
        return _moved(view) or _noisy(view)
    if view.still_noise_uv > 3 * view.limit_uv:
        return _open(
            f"hum of {view.still_hum_uv:.0f} uV comes with noise of {view.still_noise_uv:.1f} uV"
        )
    return finding(
        "bench_interference",
        RETEST,
        f"Mains hum of {view.still_hum_uv:.0f} uV RMS hides small interruptions: the room, or an"
        " open lead.",
    )


def _noisy(view: View) -> Finding | None:
    """A still part with beats, slow swings, muscle's slope, or far more noise than a shorted input
    may have.
    """
    beating = heart(view) if view.kind.act != "lift" else None
    if beating:
        return beating
    noise = view.still_noise_uv
    steep = steepness(view.still_spectrum, view.rate, view.limits.low_pass_hz)
    hums = view.still_lines_uv > HUMS * view.limits.noise_uv
    even = falls_evenly(view.still_spectrum, view.rate)
    if steep > STEEPER and not even and noise > view.limit_uv / 4 and not hums:
        text = (
            f"The noise falls {steep:.1f}-fold towards high frequencies, as muscle does: not a"
            " shorted input."
        )
        return finding("worn_not_shorted", RETEST, text)
    slow = band_rms(view.still_spectrum, *SLOW_BAND_HZ)
    if slow > SLOW * view.limits.noise_uv and not hums:
        text = (
            f"Slow swings of {slow:.1f} uV RMS before any lead is touched: a body, a bad contact,"
            " or moving hands."
        )
        return finding("low_frequency_noise", RETEST, text)
    width = view.band_hz[1] - view.band_hz[0]
    post = thermal_uv(POST_OHM, width) if view.kind.second_post else 0.0
    if noise <= NOISY * math.hypot(view.limit_uv, post):
        return None
    if not view.kind.second_post and view.still_hum_uv > PICKS_UP_UV:
        return _open(f"hum of {view.still_hum_uv:.0f} uV comes with noise of {noise:.1f} uV")
    text = (
        f"{noise:.2f} uV RMS of noise before any lead is touched, far above the limit:"
        f" {view.limit_words}."
    )
    return finding(
        "excess_noise", RETEST, text, action="Run the still test: it judges the noise floor"
    )


def heart(view: View) -> Finding | None:
    """A trace that beats from end to end is a body's, whatever else it shows."""
    beats = beats_per_minute(view.trace)
    if beats is None:
        return None
    return finding(
        "worn_not_shorted",
        RETEST,
        f"Beats at {beats:.0f} a minute: this is a body, not a shorted input.",
    )


def _begun_early(view: View) -> Finding | None:
    """A quiet start that turns into an open input within the still part: the first lead was lifted
    too early.
    """
    trace = view.trace
    first, later = trace.segments(0.0, 0.6), trace.segments(0.25, 2.0)
    if not len(first) or not len(later):
        return None
    quiet, loud = float(trace.hum_rms[first].min()), float(trace.hum_rms[later].max())
    if quiet < view.limits.hum_uv and loud > 10 * max(quiet, 3 * trace.hum_u):
        return finding(
            "moved_too_early",
            RETEST,
            "A lead came off the bar before the call: nothing to compare with.",
        )
    return None


def _moved(view: View) -> Finding | None:
    """Movement in the part that should be still, seen by slow swings far above those of its first
    half second.
    """
    trace = view.trace
    first = trace.segments(0.0, 0.6)
    before = trace.segments(0.25, 1.75)
    if not len(first) or not len(before):
        return None
    quiet = float(trace.swing[first].min())
    swing = float(trace.swing[before].max())
    worked = median(trace.swing[trace.segments(2.5, 7.5)])
    noise = median(trace.noise)
    if swing > 4 * quiet and swing > 8 * noise and swing > 0.25 * worked:
        return finding(
            "moved_too_early",
            RETEST,
            f"Slow swings of {swing:.0f} uV before the call: nothing to compare with.",
        )
    return None


def _open(evidence: str) -> Finding:
    return finding(
        "open_lead",
        RETEST,
        f"Open input: {evidence}. A lead is open or the snaps are not on the bar.",
        action="Press all three snaps on the bar and run the lift test: it names the lead",
    )
