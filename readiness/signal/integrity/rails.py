"""Where a trace stays at the ends of its range, or stops moving."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from readiness.signal.capture import FEWEST_AT_RAIL, PLACES_NAMED, Channel, Note
from readiness.signal.counts import counted
from readiness.signal.statistics.robust import median, pieces

STUCK_S = 0.25
"""A trace that holds one value so long has stopped: a converter that runs changes its last bit
(common practice).
"""
SATURATED_S = 0.5
"""At the rails so long, and for half of the stretch or more, a trace is saturated, else clipped
(common practice).
"""
NEAREST_STOP_UV = 500.0
"""A muscle gives up to some millivolts, so no amplifier made for one stops nearer to its rest than
this (common practice). One value held nearer is a trace that stopped, not one driven to its end.
"""
JOIN_S = 0.1
"""Stays at a rail nearer to each other than this are told as one."""
LONG_HOLD = 8
SHORT_HOLD = 3
SHORT_HOLDS = 3
"""An extreme value is a flat top when it is held once for a long or so often for a short run of
samples.
"""
FEWEST_VALUES = 32
PROBED = 4000
"""Traces with no more different values than that, among so many samples, show no flat top."""


@dataclass(frozen=True)
class RailStretch:
    """Stays at a rail near to each other: first sample, one past the last, and how many of the
    samples between are at the rail.
    """

    begin: int
    end: int
    at_rail: int

    def touches(self, begin: int, end: int) -> bool:
        """Whether it meets a stretch from ``begin`` to one before ``end``."""
        return self.begin <= end and self.end >= begin


def rail_stretches(emg: Channel) -> list[RailStretch]:
    """Stretches at the ends of the range: the declared ones, and flat tops of the trace itself, but
    for a flat top so near and so long that the trace has stopped there.
    """
    low, high = _flat_ends(emg.samples)
    at_rail = np.zeros(len(emg.samples), dtype=bool)
    for sign, flat_end in ((1.0, high), (-1.0, -low)):
        declared = _declared_end(emg, sign)
        level = min(flat_end, declared)
        if _extreme(emg.samples, sign) < level:
            continue
        touching = sign * emg.samples >= level
        if level < declared:
            touching &= ~_stopped_near(emg, sign * level, touching)
        if np.count_nonzero(touching) >= FEWEST_AT_RAIL:
            at_rail |= touching
    return [
        RailStretch(begin, end, int(np.count_nonzero(at_rail[begin:end])))
        for begin, end in _stretches(at_rail, round(JOIN_S * emg.rate_hz))
    ]


def rail_notes(emg: Channel, stretches: Sequence[RailStretch]) -> Iterator[Note]:
    """What to tell of the stretches that ``rail_stretches`` gave (``saturated``, ``clipped``)."""
    for stretch in stretches[:PLACES_NAMED]:
        start_s, end_s = stretch.begin / emg.rate_hz, stretch.end / emg.rate_hz
        longest = max(SATURATED_S * emg.rate_hz, 0.5 * (stretch.end - stretch.begin))
        saturated = stretch.at_rail >= longest
        verb = "stays at" if saturated else "touches"
        text = (
            f"The trace {verb} the end of the range from {start_s:.3f} to {end_s:.3f} s"
            f" ({counted(stretch.at_rail, 'sample', 'samples')})."
        )
        yield Note("saturated" if saturated else "clipped", text, start_s, end_s)
    unnamed = len(stretches) - PLACES_NAMED
    if unnamed > 0:
        more = counted(unnamed, "more place", "more places")
        yield Note("clipped", f"The trace touches the end of the range in {more}.")


def check_held(emg: Channel, rails: Sequence[RailStretch]) -> Iterator[Note]:
    """Stretches where one value is held, away from the rails, in a trace that moves elsewhere
    (``dead_channel``).
    """
    least = _stuck_samples(emg)
    if not _may_hold(emg.samples, least):
        return
    still = np.concatenate((np.diff(emg.samples) == 0.0, [False]))
    if np.count_nonzero(still) < least - 1:
        return
    for begin, last in _stretches(still, 0):
        end = last + 1
        if end - begin < least or any(rail.touches(begin, end) for rail in rails):
            continue
        start_s, end_s = begin / emg.rate_hz, end / emg.rate_hz
        text = (
            f"The trace holds one value, {emg.samples[begin]:.6g} uV, from {start_s:.3f} to"
            f" {end_s:.3f} s."
        )
        yield Note("dead_channel", text, start_s, end_s)


def _stuck_samples(emg: Channel) -> int:
    """So many samples of one value are a trace that has stopped."""
    return max(16, round(STUCK_S * emg.rate_hz))


def _stopped_near(emg: Channel, level: float, touching: np.ndarray) -> np.ndarray:
    """Which of the samples at a flat top of the trace are stays so long that it has stopped there:
    none where the top lies as far off as an amplifier's stop may.
    """
    stopped = np.zeros(len(touching), dtype=bool)
    if abs(level - median(emg.samples[np.isfinite(emg.samples)])) > NEAREST_STOP_UV:
        return stopped
    least = _stuck_samples(emg)
    for begin, end in _stretches(touching, 0):
        stopped[begin:end] = end - begin >= least
    return stopped


def _may_hold(samples: np.ndarray, least: int) -> bool:
    """Whether a value may be held for ``least`` samples: of samples a ninth of that apart, such a
    stretch gives eight in a row at least, and few traces have even that.
    """
    sparse = samples[:: least // 9]
    alike = sparse[1:] == sparse[:-1]
    in_a_row = pieces(alike, min(7, len(alike)), 1).all(axis=1)
    return bool(in_a_row.any())


def _declared_end(emg: Channel, sign: float) -> float:
    """The upper (``sign`` 1) or lower end of the declared range, times ``sign``; infinite where
    none is declared. The highest code of a two's-complement converter is one step below its full
    scale, hence the step and a half.
    """
    if emg.full_scale is None:
        return np.inf
    declared = emg.full_scale[1] if sign > 0 else -emg.full_scale[0]
    margin = max(1.5 * (emg.resolution or 0.0), 1e-9 * abs(declared))
    return declared - margin


def _extreme(samples: np.ndarray, sign: float) -> float:
    """The highest value (``sign`` 1), or the lowest times -1."""
    if sign > 0:
        return float(np.fmax.reduce(samples))
    return -float(np.fmin.reduce(samples))


def _flat_ends(samples: np.ndarray) -> tuple[float, float]:
    """Ends of the range where none is declared, infinite where the trace shows none.

    A trace of some dozen codes has no flat top by chance: with a spread of ten steps the odds of
    three samples in a row at the very extreme are below one in a million.
    """
    probe = samples[:: max(1, len(samples) // PROBED)]
    if len(np.unique(probe)) <= FEWEST_VALUES:
        return -np.inf, np.inf
    low, high = -_extreme(samples, -1.0), _extreme(samples, 1.0)
    # Zero is the end of no converter: a trace that was cut there was cut by a program.
    return (
        low if low != 0.0 and _is_flat(samples == low) else -np.inf,
        high if high != 0.0 and _is_flat(samples == high) else np.inf,
    )


def _is_flat(at_extreme: np.ndarray) -> bool:
    """Whether an extreme value is held for eight samples, or often for three."""
    at = np.flatnonzero(at_extreme)
    if len(at) < LONG_HOLD:
        return False
    breaks = np.flatnonzero(np.diff(at) > 1) + 1
    holds = np.diff(np.concatenate(([0], breaks, [len(at)])))
    often = np.count_nonzero(holds >= SHORT_HOLD) >= SHORT_HOLDS
    return bool(holds.max() >= LONG_HOLD or often)


def _stretches(mask: np.ndarray, join: int) -> list[tuple[int, int]]:
    """Half-open index ranges where ``mask`` holds, those at most ``join`` apart taken as one."""
    at = np.flatnonzero(mask)
    if not len(at):
        return []
    breaks = np.flatnonzero(np.diff(at) > join + 1)
    begins = at[np.concatenate(([0], breaks + 1))]
    ends = at[np.concatenate((breaks, [len(at) - 1]))] + 1
    return list(zip(begins.tolist(), ends.tolist(), strict=True))
