"""Whether a quiet trace has the shape of a shorted input: flat, steady, Gaussian, without beats or
movement.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from readiness.signal.spectrum.noise import Spectrum, band_density
from readiness.signal.statistics.robust import median, quantile_in_order

from .trace import Trace, robust_sigma

STEEP = 2.0
"""Density ratio of a lower to an upper band. Amplifier noise is white plus 1/f with a corner below
60 Hz: 1.3 at most between these bands, 1.6 with a second-order low-pass at 400 Hz; muscle falls off
beyond 150 Hz by four and more.
"""
EVENLY, EVENLY_SHARE = 1.4, 0.75
"""How much the density must fall in the first third of the band (in octaves), itself and as a share
of the second: pure 1/f noise falls alike in both, a white floor makes the later fall the smaller;
low-passes and the scatter of two frames take less than a quarter from that. Muscle does not reach
1 in the first, for it rises there.
"""
BEAT_SWAY, PAUSE_SWAY, REGULAR = 0.2, 0.3, 0.7
"""How far an interval may lie from the middle one or from its double, and the share that must lie
so. Ten to twenty moments at random, from end to end, do so once in 25 times (own simulation); of
thirty stretches of a heart with many early beats 28 do (record 208 of the MIT-BIH Arrhythmia
Database; ten of them are in the tests).
"""
LEVEL_SHARE = 0.6
"""Up to there a low-pass of the amplifier, of second order or more, takes an eighth of the density
at most.
"""
WIDE_SHARE = 0.8
"""Up to there it takes three tenths; a quarter of the upper band as a whole, which ``STEEP`` bears.
"""
MOVED_SHARE = 6.0
"""Slow swings in some half seconds over those of the quietest quarter: steady noise stays within
about 2.5.
"""


@dataclass(frozen=True)
class Shape:
    """``is_body`` with its ``reason`` (``beats``: a heart); ``moved`` with the size of the swings
    in microvolts.

    ``low_over_middle`` is the density of 22-45 Hz over that of 55-145 Hz.
    """

    is_body: bool
    beats: bool
    reason: str
    low_over_middle: float
    moved: bool
    swing_uv: float


def shape_of(
    spectrum: Spectrum, trace: Trace, rate: float, low_pass_hz: float | None = None
) -> Shape:
    """Look at slope, beats and movement of a capture that should be a shorted input. What a stated
    low-pass of the amplifier takes is no slope.
    """
    steep = steepness(spectrum, rate, low_pass_hz)
    beats = beats_per_minute(trace)
    quiet = quantile_in_order(np.sort(trace.swing), 0.25)
    swing = float(trace.swing.max())
    sigma = robust_sigma(trace.abrupt)
    # Swings must also be large beside the noise itself; tens of microvolts is what a moved cable
    # gives.
    moved = swing > MOVED_SHARE * quiet and swing > 12 * sigma
    low = _ratio(spectrum, (22, 45), (55, min(145.0, 0.4 * rate)))
    reason = ""
    if beats is not None:
        reason = f"beats at {beats:.0f} a minute, as a heart gives"
    elif steep > STEEP and not falls_evenly(spectrum, rate):
        reason = f"its density falls {steep:.1f}-fold towards high frequencies, as muscle does"
    return Shape(bool(reason), beats is not None, reason, low, moved, swing)


def steepness(spectrum: Spectrum, rate: float, low_pass_hz: float | None = None) -> float:
    """Density below 150 Hz over density above (at low rates: below and above 50 Hz), less what the
    converter itself takes from the upper band.

    Where the amplifier's low-pass is stated, both lie in what it leaves nearly level; below some
    130 Hz that holds too little to tell anything, and the answer is 1.
    """
    corner_hz = math.inf if low_pass_hz is None else low_pass_hz
    top = min(300.0, 0.35 * rate, WIDE_SHARE * corner_hz)
    level = LEVEL_SHARE * corner_hz
    if top < 200.0 and level < 0.38 * rate:
        return _ratio(spectrum, (22, 45), (55, level)) if level > 80.0 else 1.0
    if top >= 200:
        return _ratio(spectrum, (55, 145), (155, top))
    if rate >= 400:
        bands = (55.0, 105.0), (0.28 * rate, 0.38 * rate)
        return _ratio(spectrum, *bands) / _droop(*bands, rate)
    return _ratio(spectrum, (22, 45), (0.22 * rate, 0.38 * rate)) / 1.5


def _droop(lower: tuple[float, float], upper: tuple[float, float], rate: float) -> float:
    """What a converter takes from a density in the upper band more than in the lower: one that
    averages three times over its interval (a sinc filter of third order, as delta-sigma converters
    have) takes a third of it at a third of the rate, and most of it at half.
    """
    low, high = (
        float(np.mean(np.sinc(np.linspace(*band, 16) / rate) ** 6)) for band in (lower, upper)
    )
    return low / high


def falls_evenly(spectrum: Spectrum, rate: float) -> bool:
    """Whether the density falls from 22 Hz on as fast as it does later, or faster: the noise of an
    amplifier, 1/f or of steps above a white floor. Muscle rises to 60 Hz and falls beyond 150.
    """
    edges = _steps(min(300.0, 0.38 * rate))
    first, later = (
        _ratio(spectrum, (edges[at], edges[at + 1]), (edges[at + 1], edges[at + 2]))
        for at in (0, 1)
    )
    return first > EVENLY and first > EVENLY_SHARE * later


@lru_cache(maxsize=16)
def _steps(top_hz: float) -> tuple[float, ...]:
    """Edges of three bands from 22 Hz to the top, each as many times as wide as the one before."""
    return tuple(np.geomspace(22, top_hz, 4).tolist())


def beats_per_minute(trace: Trace) -> float | None:
    """Rate of beats, or ``None``: high narrow peaks 0.4 to 1.6 s apart, most of them at one
    interval or at its double.

    A heart need not be regular: early beats and the pauses after them are common, and a low beat
    may not stand out.
    """
    envelope = np.abs(trace.band)
    sigma = robust_sigma(trace.band)
    hits = np.flatnonzero(envelope > 6 * sigma)
    if len(hits) < 5:
        return None
    gaps = np.flatnonzero(np.diff(hits) > 0.3 * trace.rate)
    starts = hits[np.concatenate([[0], gaps + 1])] / trace.rate
    intervals = np.diff(starts)
    if len(intervals) < 4:
        return None
    middle = median(intervals)
    times = intervals / middle
    regular = np.mean((np.abs(times - 1) < BEAT_SWAY) | (np.abs(times - 2) < PAUSE_SWAY))
    # A heart beats from the first second to the last; a lead that opens does so while it is bent.
    throughout = starts[0] < 2.0 and starts[-1] > len(trace.x) / trace.rate - 2.0
    return 60 / middle if throughout and 0.4 < middle < 1.6 and regular > REGULAR else None


def _ratio(spectrum: Spectrum, lower: tuple[float, float], upper: tuple[float, float]) -> float:
    low, high = band_density(spectrum, *lower), band_density(spectrum, *upper)
    return low / high if high > 0 and math.isfinite(low / high) else 1.0
