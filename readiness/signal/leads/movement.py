"""Whether a cable was moved: swings of a lead's window beside those of the still part, and whether
the amplifier lets them through at all.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import lru_cache

import numpy as np

from readiness.signal.catalogue import LEADS, Span
from readiness.signal.statistics.robust import pieces, read_only

from .events import OPERATOR_S, STILL_S
from .trace import EDGE_S, TINY_UV, Trace

MOVES = 1.4
"""Swings of a bent lead over those of the still part, RMS below 20 Hz. The ratio of two stretches
of noise, 1.5 and 1.9 s long, stays below it in 99 of 100 (F test, 50 and 65 degrees of freedom);
in all three windows of a still it is above in one of a hundred thousand.
"""
CALM_HZ = 6.0
MOVES_CALMLY = 1.8
"""A calm hand stays below 6 Hz, where there is a third of the noise, and fewer degrees of freedom:
one ratio in a hundred is above 1.8 (14 and 18).
"""
FADES_S = (0.08, 0.15, 0.3, 0.6, 1.2, 3.0)
"""What the lead before has left behind dies away, through the cable's own leakage and the
amplifier's high-pass, with some such time constant; that is no movement of this lead.
"""
LOOKED_AT_HZ = 64.0
LOW_HZ, BESIDE_HZ = (1.5, 4.5), (22.0, 40.0)
"""Where a hand moves a cable, and where no high-pass of an EMG amplifier takes noise away."""
PASSES = 0.8
"""An amplifier that passes less of its own noise there, beside that above 20 Hz, hides a hand:
amplifier noise by itself rises towards low frequencies.
"""
HIDES_FROM_HZ = 2.0
"""A stated high-pass from here on takes so much of a hand's movement away that nothing may be
left.
"""
FRAME_S = 1.0


def movement_by_lead(trace: Trace, windows: Sequence[Span], least_uv: float) -> dict[str, float]:
    """Swings in the middle of each lead's window over those of the still part, by lead; from
    ``MOVES`` on the lead was moved.

    Parameters
    ----------
    trace : Trace
    windows : sequence of (name, start, end)
        The test's windows in seconds.
    least_uv : float
        Microvolts RMS below which nothing is told from the converter's rounding.
    """
    bins = _calm_bins(trace)
    still = max(swing_of(trace, STILL_S), least_uv, TINY_UV)
    calmly_still = max(_calm_swing(trace, bins, STILL_S), least_uv, TINY_UV)
    ratios = {}
    for lead, span in _middles(windows).items():
        calmly = _calm_swing(trace, bins, span) / calmly_still
        ratios[lead] = max(swing_of(trace, span) / still, calmly * MOVES / MOVES_CALMLY)
    return ratios


def swing_in(trace: Trace, windows: Sequence[Span], lead: str) -> float:
    """Swings in the middle of a lead's window, microvolts RMS."""
    return swing_of(trace, _middles(windows)[lead])


def slow_passed(trace: Trace, windows: Sequence[Span], unmoved: Iterable[str]) -> float:
    """How much of slow signals the amplifier passes, of one: from its own noise while nothing
    moves, below 5 Hz against above 20 Hz.

    ``unmoved`` are the leads in whose windows nothing is seen. They are looked at with the still
    part, and it alone: a movement too small to count would pass for noise.
    """
    middles = _middles(windows)
    still = _power(trace, STILL_S)
    everything = still + sum(_power(trace, middles[lead]) for lead in unmoved)
    return min(_low_share(still), _low_share(everything))


def _power(trace: Trace, span: tuple[float, float]) -> np.ndarray:
    """Summed periodograms of one-second frames, by whole hertz."""
    size = round(FRAME_S * trace.rate)
    frames = pieces(trace.part(trace.x, *span), size, size // 4)
    level = (frames - frames.mean(axis=1, keepdims=True)) * np.hanning(size)
    power: np.ndarray = (np.abs(np.fft.rfft(level, axis=1)) ** 2).sum(axis=0)
    return power


def _low_share(power: np.ndarray) -> float:
    hz = np.arange(len(power)) / FRAME_S
    low, beside = (
        float(power[(hz >= first) & (hz <= last)].mean()) for first, last in (LOW_HZ, BESIDE_HZ)
    )
    return math.sqrt(low / beside) if beside > 0 else 0.0


def _middles(windows: Sequence[Span]) -> dict[str, tuple[float, float]]:
    """Where each lead is surely in hand, with an operator half a second early or late."""
    whole_s = windows[-1][2]
    return {
        lead: (start + OPERATOR_S, end - (OPERATOR_S if end < whole_s else EDGE_S))
        for lead, start, end in windows
        if lead in LEADS
    }


def swing_of(trace: Trace, span: tuple[float, float]) -> float:
    """Swings of a stretch, microvolts RMS."""
    begin, end, every = _looked_at(trace, span)
    return _swing(trace.slow[begin:end:every], every / trace.rate)


def _calm_swing(trace: Trace, bins: np.ndarray, span: tuple[float, float]) -> float:
    """The same of what a calm hand gives; ``bins`` are those of ``_calm_bins``."""
    begin, end, every = _looked_at(trace, span)
    first, last = trace.slow[0], trace.slow[-1]
    line = first + (last - first) / (len(trace.x) - 1) * np.arange(begin, end, every)
    waves = _waves(len(trace.x), begin, end, every, len(bins))
    # Too small for threads, which `@` would start.
    calm = np.einsum("ij,j->i", waves, bins).real
    return _swing(calm + line, every / trace.rate)


def _looked_at(trace: Trace, span: tuple[float, float]) -> tuple[int, int, int]:
    """The samples of a stretch that are looked at: first, one past the last, and the step."""
    every = max(1, int(trace.rate / LOOKED_AT_HZ))
    begin, end = (max(0, round(time_s * trace.rate)) for time_s in span)
    return begin, min(end, len(trace.x)), every


def _swing(part: np.ndarray, step_s: float) -> float:
    """RMS of a stretch once a line and what dies away are taken out, the time constant that leaves
    least.
    """
    bases = _fading(len(part), step_s)
    rests = part - ((part @ bases)[:, None, :] @ bases.swapaxes(1, 2))[:, 0]
    least = float(np.einsum("ij,ij->i", rests, rests).min())
    return math.sqrt(least / max(1, len(part) - 4))


@lru_cache(maxsize=16)
def _fading(count: int, step_s: float) -> np.ndarray:
    """For each time constant an orthonormal basis of a line and a fading swing, (6, count, 4)."""
    t = np.arange(count) * step_s
    bases = []
    for fade_s in FADES_S:
        fade = np.exp(-t / fade_s)
        basis, _ = np.linalg.qr(np.stack([np.ones(count), t, fade, t * fade], axis=1))
        bases.append(basis)
    return read_only(np.stack(bases))


def _calm_bins(trace: Trace) -> np.ndarray:
    """Bins of what is slower than ``CALM_HZ``, the line between both ends left as it is; with a
    soft edge, for a sharp one rings from window to window.
    """
    count, slow, x = len(trace.x), trace.slow, trace.x
    soft, line = _calmed(count, trace.rate)
    # Two lines were taken out of the samples, one after the other: their difference comes back.
    slope = ((x[-1] - x[0]) - (slow[-1] - slow[0])) / max(1, count - 1)
    bins = trace.slow_bins[: len(soft)] + slope * line
    bins[0] += count * (x[0] - slow[0])
    calm: np.ndarray = bins * soft
    return calm


@lru_cache(maxsize=8)
def _calmed(count: int, rate: float) -> tuple[np.ndarray, np.ndarray]:
    """What is left of each of the lowest bins, and those of the line 0, 1, 2, ..."""
    hz = np.arange(int(1.25 * CALM_HZ * count / rate) + 1) * rate / count
    soft = 0.5 + 0.5 * np.cos(np.pi * np.clip(2 * hz / CALM_HZ - 1.5, 0, 1))
    line = np.fft.rfft(np.arange(float(count)))[: len(hz)]
    return read_only(soft), read_only(line)


@lru_cache(maxsize=16)
def _waves(count: int, begin: int, end: int, every: int, bins: int) -> np.ndarray:
    """What leads from the lowest bins of a record to some of its samples, (samples, bins)."""
    turns = np.outer(np.arange(begin, end, every), np.arange(bins)) / count
    waves = np.exp(2j * np.pi * turns) * (2 / count)
    waves[:, 0] /= 2
    return read_only(waves)
