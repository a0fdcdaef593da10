"""Medians and overlapping pieces, at the speed of a sort and of no copy at all."""

from __future__ import annotations

import math

import numpy as np

LONG = 3000
"""From so many numbers on a partition is quicker than a sort."""


def median(values: np.ndarray) -> float:
    """Median of shape (n,), NaN for none or with a NaN among them: what ``numpy.median`` gives, at
    a third of its time.

    A sort of some thousand numbers costs less than the checks round ``numpy``'s partition.
    """
    count = len(values)
    if not count:
        return math.nan
    if count > LONG:
        half = count // 2
        parted = np.partition(values, half)
        if math.isnan(parted[half:].max()):
            return math.nan
        lower = parted[half] if count % 2 else parted[:half].max()
        return float((lower + parted[half]) / 2)
    ordered = values.copy()
    ordered.sort()
    if math.isnan(ordered.item(-1)):
        return math.nan
    return middle_of(ordered)


def middle_of(ordered: np.ndarray) -> float:
    """Median of values in order, shape (n,), n > 0."""
    half = len(ordered) // 2
    # Python's own numbers are quicker, one at a time.
    if len(ordered) % 2:
        return float(ordered.item(half))
    return float(ordered.item(half - 1) + ordered.item(half)) / 2


def row_medians(rows: np.ndarray) -> np.ndarray:
    """Median of each row of shape (k, n), n > 0; NaN for a row with a NaN in it."""
    ordered = np.sort(rows, axis=1)
    half = rows.shape[1] // 2
    middle: np.ndarray = (
        ordered[:, half].copy()
        if rows.shape[1] % 2
        else (ordered[:, half - 1] + ordered[:, half]) / 2
    )
    broken = np.isnan(ordered[:, -1])
    if broken.any():
        middle[broken] = np.nan
    return middle


def pieces(values: np.ndarray, size: int, hop: int) -> np.ndarray:
    """Pieces of ``size`` samples every ``hop``, shape (k, size), as a read-only view of contiguous
    float64 (n,).

    Raises
    ------
    ValueError
        When the values do not fill one piece.
    """
    if len(values) < size:
        raise ValueError(f"{len(values)} samples do not fill a piece of {size}")
    whole = np.ascontiguousarray(values, dtype=np.float64)
    count, step = (len(whole) - size) // hop + 1, whole.itemsize
    # A view laid over the buffer costs a thirtieth of what numpy's own sliding window does.
    return read_only(np.ndarray((count, size), whole.dtype, whole, 0, (hop * step, step)))


def runs(values: np.ndarray, length: int) -> np.ndarray:
    """Every ``length`` rows in a row of values (n, ...), n >= length: shape (n - length + 1, ...,
    length), as a read-only view.
    """
    whole = np.ascontiguousarray(values)
    shape = (len(whole) - length + 1, *whole.shape[1:], length)
    # As above: a small part of the time of numpy's own sliding window.
    return read_only(np.ndarray(shape, whole.dtype, whole, 0, (*whole.strides, whole.strides[0])))


def quantile_in_order(ordered: np.ndarray, share: float) -> float:
    """What ``numpy.quantile`` gives of values in order, shape (n,), n > 0, without its checks."""
    place = share * (len(ordered) - 1)
    below = int(place)
    low, high = float(ordered[below]), float(ordered[min(below + 1, len(ordered) - 1)])
    part = place - below
    # From the nearer end, as numpy does.
    return low + (high - low) * part if part < 0.5 else high - (high - low) * (1 - part)


def different(ordered: np.ndarray) -> np.ndarray:
    """Each value once, of values in order: what ``numpy.unique`` gives, without its sort."""
    if not len(ordered):
        return ordered
    return ordered[np.concatenate(([True], ordered[1:] != ordered[:-1]))]


def read_only(values: np.ndarray) -> np.ndarray:
    """The same array, made read-only, to be shared by all captures of one length and rate."""
    values.flags.writeable = False
    return values
