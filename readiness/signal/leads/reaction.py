"""The reaction when a lead is lifted: hum, noise and abrupt edges against the still part."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from readiness.signal.statistics.robust import median, runs

from .events import STILL_S
from .trace import EDGE_S, SEGMENT_S, Trace

MOVEMENT_TAIL = 0.1
"""Share of a slow swing that can reach hum and noise: movement with a corner of 20 Hz that falls
with 12 dB an octave leaves a tenth of its peak to peak, as RMS, above 40 Hz.
"""
HELD_AT_RAIL = 0.9
AT_RAIL = 100.0
"""An input that goes to the end of its range and stays there has reacted as much as it can, though
a trace at a rail shows neither hum nor noise: lifted from a bar, it went there by its bias current.
"""
MEANS = (5, 9)
"""Segments averaged in phase: as long as a lead is surely up, and half of that for a hasty
operator.
"""
FALLS = 1.5
FALL_SEGMENTS = 5
"""A stage at its stop passes less noise. Three quarters of a second hold 90 degrees of freedom and
more: noise by itself falls to two thirds once in ten thousand such stretches (chi-square).
"""


@dataclass(frozen=True)
class Reaction:
    """How a capture changed while one lead was lifted, against its still part.

    ``ratio``: the larger of hum and noise ratios (or their inverse), held for half a second,
    ``hum_ratio`` and ``noise_ratio`` its parts; ``above_movement``: the same against the tail of
    the cable's movement, where that is more; ``sure``: change of the hum vector over its standard
    deviation; ``turned``: the largest change of the hum vector within three eighths of a second
    that is not a mere growth or fall, over its length; ``abrupt``: the highest abrupt event in and
    beside the zone over the spread round it; ``fell``: how many times noise is below the still part
    for three quarters of a second; ``railed``: whether the trace is held at an end of its range.
    """

    lead: str
    ratio: float
    above_movement: float
    hum_ratio: float
    noise_ratio: float
    sure: float
    turned: float
    abrupt: float
    fell: float = 1.0
    railed: bool = False


def reaction_to(trace: Trace, lead: str, zone_s: tuple[float, float]) -> Reaction:
    """Compare the segments of a lift window with the still part."""
    still = trace.segments(*STILL_S)
    inside = trace.segments(*zone_s)
    near_s = (zone_s[0] - 0.3, zone_s[1] + 0.3)
    if lead == "ground":
        off_the_rails = _after_rails(trace, inside)
        if len(off_the_rails) < len(inside):
            near_s = (
                float(trace.start_s[off_the_rails[0]]) if len(off_the_rails) else near_s[1],
                near_s[1],
            )
        inside = off_the_rails
    hum0 = trace.hum[still].mean(axis=0)
    size0 = float(np.linalg.norm(hum0))
    hum_floor = 3 * trace.hum_u * math.sqrt(trace.hum.shape[1])
    sizes = trace.hum_size[inside]
    hum_ratio = _held(sizes / max(size0, hum_floor))
    hum_drop = _held(size0 / np.maximum(sizes, hum_floor)) if size0 > 5 * hum_floor else 1.0
    sure, coherent = _coherent_change(trace, inside, hum0)
    if lead == "ground":
        hum_ratio = coherent
    noise0 = max(median(trace.noise[still]), 1e-9)
    noise_ratio = _held(trace.noise[inside] / noise0)
    noise_drop = _held(noise0 / np.maximum(trace.noise[inside], 1e-9))
    ratio = max(hum_ratio, hum_drop, noise_ratio, noise_drop)
    moved = MOVEMENT_TAIL * trace.swing[inside]
    above = max(
        _held(sizes / np.maximum(moved, max(size0, hum_floor))),
        _held(trace.noise[inside] / np.maximum(moved, noise0)),
    )
    railed = _held(trace.railed[inside]) > HELD_AT_RAIL > median(trace.railed[still])
    if lead != "ground" and railed:
        ratio = max(ratio, AT_RAIL)
    return Reaction(
        lead=lead,
        ratio=ratio,
        above_movement=max(above, hum_drop, noise_drop),
        hum_ratio=hum_ratio,
        noise_ratio=noise_ratio,
        sure=sure,
        turned=_turn(trace, inside),
        abrupt=_abrupt(trace, near_s),
        fell=_fell(trace, still, inside),
        railed=railed,
    )


def lifted_spans(trace: Trace, times: float) -> list[tuple[float, float]]:
    """Spans in which hum, noise or a rail stands ``times`` above the still part, or noise as much
    below it as no working stage gives, in seconds; gaps of one segment close.

    An operator's lifts show by themselves where they began, early or late.
    """
    still = trace.segments(*STILL_S)
    floor = 3 * trace.hum_u * math.sqrt(trace.hum.shape[1])
    hum = trace.hum_size / max(median(trace.hum_size[still]), floor)
    noise = trace.noise / max(median(trace.noise[still]), 1e-9)
    fallen = _pooled(trace.noise, FALL_SEGMENTS) < _still_noise(trace, still) / FALLS
    reach = np.convolve(fallen, np.ones(FALL_SEGMENTS)) > 0
    risen = np.maximum(hum, noise) >= times
    lifted = np.flatnonzero(risen | (trace.railed > 0) | reach)
    if not len(lifted):
        return []
    spans = np.split(lifted, np.flatnonzero(np.diff(lifted) > 2) + 1)
    return [
        (float(trace.start_s[span[0]]), float(trace.start_s[span[-1]]) + SEGMENT_S)
        for span in spans
    ]


def _fell(trace: Trace, still: np.ndarray, inside: np.ndarray) -> float:
    """How many times the still part's noise stands above the least of the lift's."""
    if len(inside) < FALL_SEGMENTS:
        return 1.0
    least = float(_pooled(trace.noise[inside], FALL_SEGMENTS).min())
    return _still_noise(trace, still) / max(least, 1e-9)


def _still_noise(trace: Trace, still: np.ndarray) -> float:
    """Noise of the still part, the quieter of its halves: a hand that came early raises the
    other.
    """
    halves = np.array_split(trace.noise[still], 2)
    return max(min(median(half) for half in halves), 1e-9)


def _pooled(noise: np.ndarray, length: int) -> np.ndarray:
    """RMS over every ``length`` segments in a row."""
    if len(noise) < length:
        return np.full(1, math.inf)
    return np.sqrt(runs(noise * noise, length).mean(axis=1))


def _after_rails(trace: Trace, inside: np.ndarray) -> np.ndarray:
    """Segments after the last one at a rail: an active lead's lift may leave the amplifier there
    for a second.

    The ground's own reaction is small and never at a rail; where all segments are, none is left to
    judge.
    """
    railed = np.flatnonzero(trace.railed[inside] > 0)
    early = railed[railed < len(inside) / 2]
    return inside[early[-1] + 2 :] if len(early) else inside


def _coherent_change(trace: Trace, inside: np.ndarray, hum0: np.ndarray) -> tuple[float, float]:
    """Change of hum averaged in phase over some 0.6 and 1.1 s: in standard deviations, and as a
    ratio.

    A mean of L half-overlapped Hann segments has ``(1 + (1 - 1/L) / 3) / L`` of one segment's
    variance (their amplitudes correlate by a sixth). Where a cable's movement reaches up to the
    line, what stands beside the line tells by how much. The ratio is against the still part or
    three of its standard deviations.
    """
    sure, ratio = 0.0, 0.0
    still = _mean_variance(len(trace.segments(*STILL_S)))
    u = np.maximum(trace.hum_u, trace.noise_at_lines(inside))
    for length in MEANS:
        if len(inside) < length:
            continue
        means = np.abs(runs(trace.hum[inside], length).mean(axis=2))
        change = np.abs(means - np.abs(hum0)) / (u * math.sqrt(_mean_variance(length) + still))
        sure = max(sure, float(change.max()))
        least = 3 * trace.hum_u * math.sqrt(still * trace.hum.shape[1])
        top = float(np.max(np.linalg.norm(means, axis=1)))
        ratio = max(ratio, top / max(float(np.linalg.norm(hum0)), least))
    return sure, ratio


def _mean_variance(length: int) -> float:
    """Variance of a mean of half-overlapped Hann segments, in that of one."""
    return (1 + (1 - 1 / length) / 3) / length if length else 1.0


def _turn(trace: Trace, inside: np.ndarray) -> float:
    """Largest sideways step of the hum vector between segments three hops apart, over its length.

    A hand that moves makes hum longer or shorter; only another source turns it. Over so short a
    time a frequency that is off by a twentieth of a hertz turns it by a tenth. Six standard
    deviations of the step count as length at least, so that noise alone stays below one half.
    """
    if len(inside) < 4:
        return 0.0
    now, then = trace.hum[inside[:-3]], trace.hum[inside[3:]]
    size_now, size_then = trace.hum_size[inside[:-3]], trace.hum_size[inside[3:]]
    length = np.minimum(size_now, size_then)
    unit = now / np.maximum(size_now, 1e-12)[:, None]
    along = np.real(np.sum(np.conj(unit) * then, axis=1))
    across = np.sqrt(np.maximum(0.0, size_then**2 - along**2))
    least = 6 * math.sqrt(2 * trace.hum.shape[1]) * trace.hum_u
    return float(np.max(across / np.maximum(length, least)))


def _abrupt(trace: Trace, near_s: tuple[float, float]) -> float:
    """Highest abrupt value between two times, over the spread round it."""
    start, end = near_s[0], min(near_s[1], len(trace.x) / trace.rate - EDGE_S)
    values = np.abs(trace.part(trace.abrupt, start, end))
    spread = np.maximum(trace.part(trace.local_sigma, start, end), 1e-9)
    return float(np.max(values / spread)) if len(values) else 0.0


def _held(values: np.ndarray) -> float:
    """The level that is held for half a second: the largest minimum of three segments in a row (two
    overlap).
    """
    if len(values) < 3:
        return float(values.min()) if len(values) else 0.0
    return float(np.max(np.minimum(np.minimum(values[:-2], values[1:-1]), values[2:])))
