"""Where a trace stays at the ends of its range, or stops moving."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from readiness.signal.capture import PLACES_NAMED, Channel, Note
from readiness.signal.statistics.robust import pieces

STUCK_S = 0.25
"""A trace that holds one value so long has stopped: a converter that runs changes its last bit
(common practice).
"""
SATURATED_S = 0.5
"""At the rails so long, and for half of the stretch or more, a trace is saturated, else clipped
(common practice).
"""
FEWEST_AT_RAIL = 4
"""Fewer samples at an end show no rail: some programs set a file's range to the extremes of its own
trace.
"""
JOIN_S = 0.1
"""Stays at a rail nearer to each other than this are told as one."""


def rail_stretches(emg: Channel) -> list[tuple[int, int, int]]:
    """Stretches at the ends of the range, as first sample, one past the last, and samples at a rail
    between.

    The ends are the declared ones, and flat tops of the trace itself. The highest code of a
    two's-complement converter is one step below its full scale, hence the step and a half.
    """
    low, high = _flat_ends(emg.samples)
    at_rail = np.zeros(len(emg.samples), dtype=bool)
    for end, sign in ((high, 1.0), (-low, -1.0)):
        level = end
        if emg.full_scale is not None:
            declared = emg.full_scale[1] if sign > 0 else -emg.full_scale[0]
            level = min(end, declared - max(1.5 * (emg.resolution or 0.0), 1e-9 * abs(declared)))
        top = (
            float(np.fmax.reduce(emg.samples)) if sign > 0 else -float(np.fmin.reduce(emg.samples))
        )
        if top >= level:
            touching = sign * emg.samples >= level
            if np.count_nonzero(touching) >= FEWEST_AT_RAIL:
                at_rail |= touching
    stretches = _stretches(at_rail, round(JOIN_S * emg.rate_hz))
    return [(begin, end, int(np.count_nonzero(at_rail[begin:end]))) for begin, end in stretches]


def rail_notes(emg: Channel, stretches: list[tuple[int, int, int]]) -> Iterator[Note]:
    """What to tell of the stretches that ``rail_stretches`` found."""
    for begin, end, stays in stretches[:PLACES_NAMED]:
        start_s, end_s = begin / emg.rate_hz, end / emg.rate_hz
        code = (
            "saturated"
            if stays >= max(SATURATED_S * emg.rate_hz, 0.5 * (end - begin))
            else "clipped"
        )
        verb = "stays at" if code == "saturated" else "touches"
        text = (
            f"The trace {verb} the end of the range from {start_s:.3f} to {end_s:.3f} s ({stays}"
            " samples)."
        )
        yield Note(code, text, start_s, end_s)
    if len(stretches) > PLACES_NAMED:
        yield Note(
            "clipped",
            f"The trace touches the end of the range in {len(stretches) - PLACES_NAMED} more"
            " places.",
        )


def _flat_ends(samples: np.ndarray) -> tuple[float, float]:
    """Ends of the range where none is declared: an extreme value held for eight samples, or often
    for three.

    A trace of some dozen codes has no such plateau by chance: with a spread of ten steps the odds
    of three samples in a row at the very extreme are below one in a million.
    """
    low, high = -np.inf, np.inf
    if len(np.unique(samples[:: max(1, len(samples) // 4000)])) <= 32:
        return low, high
    for sign in (1.0, -1.0):
        extreme = float(np.fmax.reduce(samples) if sign > 0 else np.fmin.reduce(samples))
        at = np.flatnonzero(samples == extreme)
        if len(at) < 8:
            continue
        runs = np.diff(np.concatenate(([0], np.flatnonzero(np.diff(at) > 1) + 1, [len(at)])))
        if runs.max() >= 8 or np.count_nonzero(runs >= 3) >= 3:
            low, high = (low, extreme) if sign > 0 else (extreme, high)
    return low, high


def check_held(emg: Channel, rails: list[tuple[int, int, int]]) -> Iterator[Note]:
    """Stretches where one value is held, away from the rails, in a trace that moves elsewhere."""
    least = max(16, round(STUCK_S * emg.rate_hz))
    # Of samples a ninth of that apart, a value held so long gives eight in a row at least: few
    # traces have even that.
    sparse = emg.samples[:: least // 9]
    alike = sparse[1:] == sparse[:-1]
    if not pieces(alike, min(7, len(alike)), 1).all(axis=1).any():
        return
    still = np.concatenate((np.diff(emg.samples) == 0.0, [False]))
    if np.count_nonzero(still) < least - 1:
        return
    for begin, end in _stretches(still, 0):
        if end + 1 - begin < least:
            continue
        if not any(first <= end + 1 and past >= begin for first, past, _ in rails):
            start_s, end_s = begin / emg.rate_hz, (end + 1) / emg.rate_hz
            text = (
                f"The trace holds one value, {emg.samples[begin]:.6g} uV, from {start_s:.3f} to"
                f" {end_s:.3f} s."
            )
            yield Note("dead_channel", text, start_s, end_s)


def _stretches(mask: np.ndarray, join: int) -> list[tuple[int, int]]:
    """Half-open index ranges where ``mask`` holds, those at most ``join`` apart taken as one."""
    at = np.flatnonzero(mask)
    if not len(at):
        return []
    breaks = np.flatnonzero(np.diff(at) > join + 1)
    begins = at[np.concatenate(([0], breaks + 1))]
    ends = at[np.concatenate((breaks, [len(at) - 1]))] + 1
    return list(zip(begins.tolist(), ends.tolist(), strict=True))
