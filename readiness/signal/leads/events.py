"""Lead continuity: abrupt events while a lead is flexed, by window and lead."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from readiness.signal.catalogue import LEADS, Span
from readiness.signal.result import AbruptEvent
from readiness.signal.statistics.normal import deviate_above, normal_below
from readiness.signal.statistics.robust import read_only

from .trace import EDGE_S, SEGMENT_S, Trace, robust_sigma

OPERATOR_S = 0.5
"""People follow a call half a second early or late."""
STILL_S = (EDGE_S, 2.0)
SOUND_RETESTED = 1e-3
"""One sound capture in a thousand may be sent back for a peak that was noise: the price of finding
small ones.
"""
JOIN_S = 0.05
"""Crossings nearer than this are one event: contacts bounce for milliseconds (common practice)."""
SWAY = 0.35
"""A contact that opens puts another hum in place of this one; a cable that is bent sways it by a
tenth RMS, a third at most. What stays below that share of the hum is not told from sway.
"""
CORE = 0.6
"""An event lasts while it is this share of its peak: taking mains out leaves an echo of half a step
one period away.
"""
SWAY_SPREAD = 0.15
"""Spread of that sway: the hum that is left after taking mains out can be that share of it while a
cable moves.
"""
SLOPE = 0.05
"""Share of a slow swing that reaches the abrupt band: movement below 10 Hz that falls with 12 dB an
octave (a cable on a hand) leaves about a twentieth of its swing above 40 Hz; so much may widen the
spread round it, and no more.
"""
COLOURED = 1.2
"""Where movement widens the spread by so much, what it adds sits at the low edge of the band and
has few degrees of freedom: there a sum of squares says nothing and peaks alone are believed.
"""
ENERGY_S = (0.01, 0.04)
"""Lengths over which energy is summed: an open that is lower than the peaks of noise, but longer,
shows there.
"""


@dataclass(frozen=True)
class Events:
    """All events of a capture, and the probability that noise alone gives the highest peak seen."""

    events: tuple[AbruptEvent, ...]
    threshold_uv: float
    chance: float

    @property
    def conforms(self) -> float:
        """Probability-like figure for the score: 1 while noise explains the peak, falling to 0 when
        it cannot.
        """
        return min(1.0, self.chance / SOUND_RETESTED)


def find_events(
    trace: Trace,
    windows: Sequence[Span],
    hum_uv: float,
    still_s: tuple[float, float] = STILL_S,
) -> Events:
    """Abrupt events of a capture against the robust statistics of its still part.

    Parameters
    ----------
    trace : Trace
    windows : sequence of (name, start, end)
        The test's windows in seconds; they name the events.
    hum_uv : float
        RMS of all mains harmonics in the still part: what a moving cable can sway.
    still_s : tuple of float
        Start and end of the still part.

    Notes
    -----
    Gaussian noise of n samples stays below ``z`` with probability ``1 - 2 n Q(z)``; the still part
    gives sigma with a relative error of 1.17/sqrt(m) (MAD of m independent samples), which widens
    the threshold.
    """
    values = np.abs(trace.abrupt)
    still = trace.part(trace.abrupt, *still_s)
    sigma = max(robust_sigma(still), 1e-6)
    scale = SLOPE * _swing_at(trace)
    scale += SWAY_SPREAD * hum_uv
    np.minimum(trace.local_sigma, scale, out=scale)
    np.maximum(sigma, scale, out=scale)
    score = values / scale
    energy = np.concatenate([[0.0], np.cumsum(score * score)])
    edge = round(EDGE_S * trace.rate)
    for part in (values, score):
        part[:edge] = part[len(part) - edge :] = 0
    for length in ENERGY_S:
        _lift_by_energy(score, trace, energy, length, scale < COLOURED * sigma)
    score /= 1 + 3 * 1.17 / math.sqrt(0.6 * len(still))
    least = SWAY * hum_uv
    if least > 0:
        score[_nearby_peak(values, trace.rate) < least] = 0.0
    for start_s, end_s in trace.clocked:  # no contact keeps time
        first, last = (start_s - JOIN_S) * trace.rate, (end_s + JOIN_S) * trace.rate
        score[max(0, round(first)) : round(last)] = 0.0
    threshold = deviate_above(SOUND_RETESTED * 0.05 / (2 * len(values)))
    chance = min(1.0, 2 * len(values) * normal_below(-float(score.max())))
    return Events(tuple(_grouped(trace, score > threshold, windows)), threshold * sigma, chance)


def lead_at(windows: Sequence[Span], start_s: float, end_s: float) -> tuple[str, str | None]:
    """Name of the window an event lies in, and the lead it surely belongs to with an operator half
    a second off.
    """
    middle = (start_s + end_s) / 2
    last, _, whole_s = windows[-1]
    name = next((name for name, low, high in windows if low <= middle < high), last)
    for lead, low, high in windows:
        late = OPERATOR_S if low > 0 else 0.0
        early = OPERATOR_S if high < whole_s else 0.0
        if lead in LEADS and low + late <= start_s and end_s <= high - early + 0.05:
            return name, lead
    return name, None


def _swing_at(trace: Trace) -> np.ndarray:
    """Slow peak to peak round every sample, from the segment whose middle is nearest, shape
    (n,).
    """
    hop = float(trace.start_s[1] - trace.start_s[0]) if len(trace.start_s) > 1 else SEGMENT_S
    return trace.swing[_nearest_segment(len(trace.x), trace.rate, hop, len(trace.swing))]


@lru_cache(maxsize=8)
def _nearest_segment(count: int, rate: float, hop_s: float, segments: int) -> np.ndarray:
    """Index of the segment whose middle is nearest to each of ``count`` samples."""
    nearest = np.rint((np.arange(count) / rate - SEGMENT_S / 2) / hop_s).astype(int)
    return read_only(np.clip(nearest, 0, segments - 1))


def _nearby_peak(values: np.ndarray, rate: float) -> np.ndarray:
    """Highest value within the shortest energy length round each sample, so that energy and peak
    are one event.
    """
    size = max(1, round(ENERGY_S[1] * rate))
    highest = np.zeros(len(values) + size - 1)
    highest[size // 2 : size // 2 + len(values)] = values
    reach = 1
    while (
        reach < size
    ):  # the highest of 2, 4, 8 ... samples, and at last of two such runs that overlap
        further = min(reach, size - reach)
        highest = np.maximum(highest[:-further], highest[further:])
        reach += further
    return highest


def _lift_by_energy(
    score: np.ndarray, trace: Trace, energy: np.ndarray, length_s: float, white: np.ndarray
) -> None:
    """Raise ``score`` to what the mean square over a sliding length says as an equivalent normal
    deviate.

    By the Wilson-Hilferty cube root of chi-square; ``energy`` (n + 1,) is the running sum of
    squared deviates and ``white`` (n,) tells where their degrees of freedom are those of the
    amplifier's noise.
    """
    size = max(2, round(length_s * trace.rate))
    mean = energy[size:] - energy[:-size]
    mean /= size
    dof = max(1.0, 2 * trace.bandwidth_hz * length_s)
    middle, spread = 1 - 2 / (9 * dof), math.sqrt(2 / (9 * dof))
    # Noise passes three deviates all the time and five hardly ever: below three the cube root is
    # not worth its time.
    high = np.flatnonzero(mean > (middle + 3 * spread) ** 3)
    at = size // 2 + high
    edge = round(EDGE_S * trace.rate)
    inside = (at >= edge) & (at < len(score) - edge)
    inside &= white[np.minimum(at, len(white) - 1)]
    at, high = at[inside], high[inside]
    score[at] = np.maximum(score[at], (np.cbrt(mean[high]) - middle) / spread)


def _grouped(trace: Trace, above: np.ndarray, windows: Sequence[Span]) -> list[AbruptEvent]:
    hits = np.flatnonzero(above)
    if not len(hits):
        return []
    breaks = np.flatnonzero(np.diff(hits) > JOIN_S * trace.rate)
    firsts, lasts = hits[[0, *(breaks + 1)]].tolist(), hits[[*breaks, -1]].tolist()
    events = []
    for first, last in zip(firsts, lasts, strict=True):
        inside = np.abs(trace.abrupt[first : last + 1])
        size = float(inside.max())
        high = (inside >= CORE * size).nonzero()[0]
        start = (first + high.item(0)) / trace.rate
        end = (first + high.item(-1) + 1) / trace.rate
        events.append(AbruptEvent(start, end, size, *lead_at(windows, start, end)))
    return events
