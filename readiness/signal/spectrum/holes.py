"""Holes in the spectrum of a noise: what a filter behind the converter leaves, and no converter
does.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from readiness.signal.limits import judged_band_hz
from readiness.signal.statistics.robust import median

from .noise import Spectrum

QUIET_FRAMES = 25.0
"""The quieter frames, in percent, speak: an open contact fills the spectrum of the others."""
STILL_FRAMES = 2
PASSED = 0.1
"""Frames of a second, half overlapped: a second and a half, before the earliest hand. A band with
so much of the foot's density there was not filtered out.
"""
LOW_HZ = (45.0, 80.0)
MIDDLE_HZ = (110.0, 190.0)
"""Below and in the training band. Every amplifier for muscle passes both."""
LOW_HOLE = 0.25
"""An amplifier's own high-pass, 30 Hz and of fourth order at the most, leaves nine tenths of the
power there.
"""
HANDS = 0.35
"""Where hands are at work a hole must be that much deeper: contacts that open have slopes."""
MIDDLE_HOLE = 0.05
"""A popcorn that falls with the square of the frequency leaves a fifth."""
SLOW_HZ = (2.0, 12.0)
ENVELOPE = 50.0
"""Slow over fast density, in a trace that keeps to one side of zero."""
FOOT_HZ = (22.0, 40.0)
TOP_HOLE = 0.035
SWINGS = 200.0
FAULTY = 4.0
"""Noise so far above its limit is a fault's, or the skirts of strong hum, and no measure for what
stands beside it.
"""
STEEP = 0.06
"""The last tenth of the judged band against its middle. A converter's own filter of fifth order
(sinc) leaves an eighth there, steps that fall with the square of the frequency a fifth.
"""
VALLEY = 0.04
"""A valley is that much lower than the spectrum on both of its sides."""
BLOCK_HZ = 6.0
LOWEST_VALLEY_HZ = 40.0
HIGHEST_VALLEY_HZ = 1200.0
"""Beyond the 25th harmonic lines of the mains are not left out."""


@dataclass(frozen=True)
class OwnBand:
    """What an amplifier is said to pass: corners in hertz, ``None`` where nobody says it; and the
    density of its noise limit, uV^2/Hz.
    """

    high_pass_hz: float | None
    low_pass_hz: float | None
    limit_density: float


def hole_in_words(
    spectrum: Spectrum, rate: float, own: OwnBand, *, one_sided: bool, rests: bool = True
) -> str:
    """What is missing in a spectrum that every raw one has, in words; empty where nothing is.

    Parameters
    ----------
    spectrum : Spectrum
        Of the whole capture, mains out.
    own : OwnBand
        Beyond its corners nothing is missed.
    one_sided : bool
        Whether the trace keeps to one side of zero: then a slope makes it an envelope.
    rests : bool
        Whether nothing moves: a valley is then looked for as well.
    """
    quiet = _quiet_frames(spectrum.frames)
    usable = spectrum.usable & (spectrum.hz > 1.5 * (own.high_pass_hz or 0.0))
    top = judged_band_hz(rate)[1]
    if own.low_pass_hz is not None:
        top = min(0.4 * rate, 0.8 * own.low_pass_hz)

    def level(low: float, high: float) -> float | None:
        inside = slice(*np.searchsorted(spectrum.hz, (low, np.nextafter(high, np.inf))))
        chosen = quiet[inside][usable[inside]]
        return median(chosen) if len(chosen) >= 6 else None

    low = level(*LOW_HZ)
    within = level(MIDDLE_HZ[0], min(MIDDLE_HZ[1], top))
    beyond = level(100.0, min(MIDDLE_HZ[1], 0.47 * rate)) if own.low_pass_hz is None else within
    last, half = level(0.9 * top, top), level(0.4 * top, 0.5 * top)
    foot = level(*FOOT_HZ)
    slow = _slow(spectrum, quiet)
    swings = slow > SWINGS * own.limit_density
    if foot is not None and (swings or foot > FAULTY * own.limit_density):
        low = foot = None
    if one_sided and slow > ENVELOPE * min(last or np.inf, within or np.inf):
        return "it keeps to one side of zero and is smooth: an envelope"
    if low is not None and foot is not None:
        foot = max(low, foot)
    if low is not None and beyond is not None and low < LOW_HOLE * beyond:
        return (
            f"nothing is left from {LOW_HZ[0]:.0f} to {LOW_HZ[1]:.0f} Hz: low frequencies were"
            " filtered out"
        )
    sure = 1.0 if rests else HANDS
    passes = not rests and _passed_before_hands(spectrum, usable, *MIDDLE_HZ)
    if foot and within is not None and within < sure * MIDDLE_HOLE * foot and not passes:
        return f"nothing is left above {MIDDLE_HZ[0]:.0f} Hz: it was filtered or smoothed"
    if foot and last is not None and half and last < sure * min(TOP_HOLE * foot, STEEP * half):
        return (
            f"nothing is left from {0.9 * top:.0f} Hz on: it was filtered, smoothed or filled up"
            " from a lower rate"
        )
    at_most = np.inf if foot is None else foot
    valley_hz = _valley(spectrum.hz, quiet, spectrum.usable, rate, own, at_most) if rests else None
    if valley_hz is not None:
        return (
            f"a hole stands at {valley_hz:.0f} Hz with signal on both sides: it was smoothed or"
            " filled up from a lower rate"
        )
    return ""


def _quiet_frames(frames: np.ndarray) -> np.ndarray:
    """Density of the quieter frames in each bin: what ``numpy.percentile`` gives, at a fifth of its
    time.
    """
    ordered = np.sort(frames.T.copy(), axis=1)
    place = QUIET_FRAMES / 100 * (len(frames) - 1)
    below = int(place)
    low, high = ordered[:, below], ordered[:, min(below + 1, len(frames) - 1)]
    quiet: np.ndarray = low + (high - low) * (place - below)
    return quiet


def _slow(spectrum: Spectrum, quiet: np.ndarray) -> float:
    return median(quiet[(spectrum.hz >= SLOW_HZ[0]) & (spectrum.hz <= SLOW_HZ[1])])


def _passed_before_hands(spectrum: Spectrum, usable: np.ndarray, low: float, high: float) -> bool:
    """Whether a band is there beside the foot while nothing moves yet. A stage that a lifted lead
    holds at its stop passes the swings of the hand and no noise.
    """
    still = spectrum.frames[:STILL_FRAMES].mean(axis=0)
    foot, band = (
        float(still[chosen].mean()) if chosen.any() else 0.0
        for chosen in (
            usable & (spectrum.hz >= first) & (spectrum.hz <= last)
            for first, last in (FOOT_HZ, (low, high))
        )
    )
    return band > PASSED * foot


def _valley(
    hz: np.ndarray,
    quiet: np.ndarray,
    usable: np.ndarray,
    rate: float,
    own: OwnBand,
    at_most: float,
) -> float | None:
    """Where the spectrum is far lower than on both sides, hertz; what stands above ``at_most``, as
    skirts of hum do, is no measure for that.
    """
    lowest = max(LOWEST_VALLEY_HZ, 2.0 * (own.high_pass_hz or 0.0))
    edges = np.arange(lowest, min(0.46 * rate, HIGHEST_VALLEY_HZ), BLOCK_HZ)
    levels, middles = [], []
    for begin, end in pairwise(edges):
        chosen = usable & (hz >= begin) & (hz < end)
        if np.count_nonzero(chosen) >= 4:
            levels.append(median(quiet[chosen]))
            middles.append((begin + end) / 2)
    if len(levels) < 5:
        return None
    level = np.array(levels)
    # A lone block may be high by a spur: each side is as high as two of its blocks are.
    level = np.minimum(level, at_most)
    left = np.maximum.accumulate(np.minimum(level[:-1], level[1:]))
    right = np.maximum.accumulate(np.minimum(level[:-1], level[1:])[::-1])[::-1]
    inner = level[2:-2]
    deep = inner < VALLEY * np.minimum(left[: len(inner)], right[3 : 3 + len(inner)])
    if not deep.any():
        return None
    at = int(np.argmin(np.where(deep, inner, np.inf)))
    return float(middles[at + 2])
