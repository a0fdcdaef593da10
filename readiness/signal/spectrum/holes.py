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
NOTCH_QS = (3.0, 5.0, 10.0, 20.0, 30.0, 50.0)
NOTCH_FLOOR = 0.02
SURE_NOTCH = 9.0
"""A notch explains the bins around the mains so much better (logarithm of the odds). Raw noise of
twelve tries comes there once in some hundred captures at most, in truth hardly ever.
"""
SURE_AMID_HANDS = 30.0
"""A contact that opens for a sixtieth of a second leaves a hole at 60 Hz by itself."""
SURE_ELSEWHERE = 16.0
"""Beside the mains of the room its skirts make holes of their own."""
LINE_HZ = 0.22
"""The line itself is left out: what a notch leaves of it, or all of it."""


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


def notch_hz(samples: np.ndarray, rate: float, nominal_hz: dict[float, float]) -> float | None:
    """Where a notch has taken the mains out, noise and all; ``None`` where none did.

    The bins of a whole record's periodogram around the place are exponential about the level
    beside it in a raw trace, and about that level times the gain of a notch in another. Which it is
    is told by the ratio of the likelihoods.

    Parameters
    ----------
    nominal_hz : dict
        Frequencies to look at, and the logarithm of the odds asked for at each.
    """
    count = len(samples)
    window = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(count) / count)
    bins = np.fft.rfft((samples - samples.mean()) * window)
    power = bins.real**2 + bins.imag**2
    step = rate / count
    for nominal, odds in nominal_hz.items():
        if nominal < 0.45 * rate and _notch_odds(power, step, nominal) > odds:
            return nominal
    return None


def _notch_odds(power: np.ndarray, step: float, nominal: float) -> float:
    """Logarithm of the odds for a notch at a nominal frequency, the best of several widths."""
    best = -np.inf
    for q in NOTCH_QS:
        reach = 1.5 * nominal / q
        low, high = int((nominal - reach) / step), int((nominal + reach) / step) + 1
        hz = np.arange(low, high) * step
        away = np.abs(hz - nominal) > LINE_HZ
        side = int(4.0 / step)
        if low <= side or high + side > len(power):
            continue
        # The lower of both sides: hum of the other mains, or a hand, lifts one of them.
        sides = (power[low - side : low], power[high : high + side])
        level = min(median(part) for part in sides) / np.log(2.0)
        if level <= 0.0:
            continue
        x = (hz - nominal) * 2.0 * q / nominal
        for passes in (1, 2):
            gain = np.maximum((x**2 / (1.0 + x**2)) ** passes, NOTCH_FLOOR)[away]
            seen = power[low:high][away] / level
            # Hann's window makes three neighbours tell what two would.
            best = max(best, float(np.sum(-np.log(gain) + seen * (1.0 - 1.0 / gain))) / 1.5)
    return best
