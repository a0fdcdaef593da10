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
    calm = _below(trace.slow, trace.rate, CALM_HZ)
    still, calmly_still = (
        max(_swing(trace, values, STILL_S), least_uv, TINY_UV) for values in (trace.slow, calm)
    )
    ratios = {}
    for lead, span in _middles(windows).items():
        calmly = _swing(trace, calm, span) / calmly_still
        ratios[lead] = max(_swing(trace, trace.slow, span) / still, calmly * MOVES / MOVES_CALMLY)
    return ratios


def swing_in(trace: Trace, windows: Sequence[Span], lead: str) -> float:
    """Swings in the middle of a lead's window, microvolts RMS."""
    return _swing(trace, trace.slow, _middles(windows)[lead])


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


def _swing(trace: Trace, values: np.ndarray, span: tuple[float, float]) -> float:
    """RMS of a stretch once a line and what dies away are taken out, the time constant that leaves
    least.
    """
    every = max(1, int(trace.rate / LOOKED_AT_HZ))
    part = trace.part(values, *span)[::every]
    bases = _fading(len(part), every / trace.rate)
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


def _below(values: np.ndarray, rate: float, top_hz: float) -> np.ndarray:
    """What is slower than ``top_hz``, the line between both ends left as it is; with a soft edge,
    for a sharp one rings from window to window.
    """
    count = len(values)
    ramp = np.linspace(values[0], values[-1], count)
    spectrum = np.fft.rfft(values - ramp)
    hz = np.arange(len(spectrum)) * rate / count
    spectrum *= 0.5 + 0.5 * np.cos(np.pi * np.clip(2 * hz / top_hz - 1.5, 0, 1))
    low: np.ndarray = np.fft.irfft(spectrum, count) + ramp
    return low
