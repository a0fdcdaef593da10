"""The converter behind a trace: its steps, bits that never change, values between the steps."""

from __future__ import annotations

from collections.abc import Iterator
from gettext import ngettext

import numpy as np

from readiness.signal.capture import Channel, Note
from readiness.signal.counts import counted
from readiness.signal.decimals import written_step
from readiness.signal.statistics.robust import different, quantile_in_order

OFF_GRID = 0.2
"""A value this far (in steps) from the nearest step is off it."""
OFF_GRID_SHARE = 0.01
SMALL_STEPS = 40.0
FEWEST_CODES = 3
"""Different codes, all of them apart by whole blocks, that noise does not give by chance."""
FEWEST_STEPS = 24
"""Fewer small differences do not show a step."""


def check_converter(samples: np.ndarray, emg: Channel) -> Iterator[Note]:
    """Values off the declared resolution (``wrong_scale``), and bits that never change
    (``stuck_bits``).

    Parameters
    ----------
    samples : numpy.ndarray
        Shape (n,), microvolts, finite.
    emg : Channel
        Where they come from, for the declared resolution and range.
    """
    step = emg.resolution if emg.resolution is not None else smallest_step(samples)
    if step is None or not step > 0.0:
        return
    codes, off, refined = to_codes(samples, step)
    if codes is None:
        return
    if off > OFF_GRID_SHARE:
        if emg.resolution is not None:
            text = (
                f"{100 * off:.0f} % of the values lie between the declared steps of {step:.5g} uV."
            )
            yield Note("wrong_scale", text)
        return
    for shift in _counted_from(emg.full_scale, refined):
        stuck = list(_stuck(codes + shift, step, declared=emg.resolution is not None))
        if stuck:
            yield from stuck
            return


def smallest_step(samples: np.ndarray) -> float | None:
    """Smallest distance of two different values, microvolts; ``None`` where all differ too finely
    to tell a step.
    """
    return step_between(different(np.sort(samples)), len(samples))


def step_between(values: np.ndarray, count: int) -> float | None:
    """The same of the different values, in order, that ``count`` samples take."""
    if len(values) < 3 or len(values) > 0.5 * count:
        return None
    least = quantile_in_order(np.sort(np.diff(values)), 0.02)
    return least if least > 0.0 else None


def _counted_from(full_scale: tuple[float, float] | None, step: float) -> tuple[int, ...]:
    """Where a converter may count its codes from: 0 uV (two's complement), and the low end of its
    range where one is stated (offset binary).

    Both give the same low bits where the range is a power of two steps. Where it is not, the stated
    range may be rounded, or not the converter's: then it must not hide what counting from zero
    shows.
    """
    if full_scale is None:
        return (0,)
    return tuple(dict.fromkeys((round(-full_scale[0] / step), 0)))


def to_codes(samples: np.ndarray, step: float) -> tuple[np.ndarray | None, float, float]:
    """Whole steps of each sample from 0 uV, the share of small sample-to-sample differences that
    are no whole steps, and the step itself, refined.

    A step is often declared with few digits, so it is judged on differences of up to
    ``SMALL_STEPS`` steps, where its rounding cannot add up, and refined by least squares before
    codes are counted with it. ``None`` where the text was written too coarsely to tell (its
    last decimal is more than a quarter of a step), where too few differences are small, or where
    codes would need more than 32 bits.
    """
    largest = max(float(samples.max()), -float(samples.min()))
    if largest / step > 2.0**31:
        return None, 0.0, step
    apart = np.diff(samples) / step
    small = apart[np.abs(apart) <= SMALL_STEPS]
    whole = np.rint(small)
    weight = float((whole * whole).sum())
    if len(small) < FEWEST_STEPS or weight == 0.0:
        return None, 0.0, step
    off = float(np.count_nonzero(np.abs(small - whole) > OFF_GRID)) / len(small)
    if off > OFF_GRID_SHARE and written_step(samples) > 0.25 * step:
        return None, 0.0, step
    refined = step * float((small * whole).sum()) / weight
    first = round(float(samples[0]) / refined)
    return np.rint((samples - samples[0]) / refined).astype(np.int64) + first, off, refined


def _stuck(codes: np.ndarray, step: float, *, declared: bool) -> Iterator[Note]:
    """Bits that hold one state through the whole capture, though the trace runs across their blocks
    of codes.
    """
    moving = int(np.bitwise_or.reduce(codes ^ codes[0]))
    lowest = (moving & -moving).bit_length() - 1
    if lowest > 0 and declared and len(np.unique(codes)) >= FEWEST_CODES:
        bits = counted(lowest, "bit", "bits")
        change = ngettext("changes", "change", lowest)
        text = (
            f"The lowest {bits} of the converter never {change}: every value is a multiple of"
            f" {step * 2**lowest:.4g} uV, declared are steps of {step:.4g} uV."
        )
        yield Note("stuck_bits", text)
    still = [bit for bit in range(lowest + 1, moving.bit_length()) if not moving >> bit & 1]
    others = [str(bit) for bit in still if _is_stuck(codes >> lowest, bit - lowest)]
    if others:
        bits = ngettext("Bit", "Bits", len(others))
        change = ngettext("changes", "change", len(others))
        names = ", ".join(others)
        text = (
            f"{bits} {names} of the converter (from 0, the lowest) never {change} in the whole"
            " capture."
        )
        yield Note("stuck_bits", text)


def _is_stuck(codes: np.ndarray, bit: int) -> bool:
    """Whether a bit that never changed is stuck, and not just out of the trace's reach.

    A stuck bit leaves whole blocks of 2^bit codes empty amid well-filled ones, and the filling
    stops hard at their edges. A trace that rests on two plateaus leaves codes empty too, but thins
    out towards them.
    """
    low, high = (int(v) for v in np.percentile(codes, (5, 95)))
    coarser = min(bit, max(0, (high - low).bit_length() - 11))
    within = codes[(codes >= low) & (codes <= high)] >> coarser
    low, high, block = low >> coarser, high >> coarser, bit - coarser
    if high - low > 1 << 20:
        return False
    counts = np.bincount(within - low, minlength=high - low + 1)
    empty = (np.arange(low, high + 1) >> block & 1) != (int(codes[0]) >> bit & 1)
    filled = counts[~empty]
    beside = ~empty & (np.append(empty[1:], False) | np.append(False, empty[:-1]))
    if (
        int(empty.sum()) < 1 << block
        or np.count_nonzero(filled) < 0.5 * len(filled)
        or not beside.any()
    ):
        return False
    return bool(counts[beside].mean() >= 0.2 * filled.mean())
