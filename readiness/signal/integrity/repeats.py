"""Samples that stand more than once in a capture: one value held, or whole pieces repeated.

Programs that lose a packet write the last value, or the last buffer, again; others show one stretch
in a loop. Noise does neither.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from readiness.signal.capture import Channel, Note
from readiness.signal.counts import counted
from readiness.signal.statistics.robust import different, quantile_in_order

from .places import places
from .rails import STUCK_S, RailStretch

CHANCE = 1e-6
"""How often the noise of one capture may look so: beyond that it is no chance."""
SHORTEST_PIECE = 24
LONGEST_PIECE = 256
"""Samples. So many in a row that are the same twice are told; where even the longest may be so by
chance, nothing is.
"""
FAR = (0.137, 0.211, 0.293)
"""Shares of a capture that no loop is long: so far apart samples are alike by chance only."""
LOOPS = 0.98
"""No converter gives eight varied samples again so often, in step with the mains or not."""
FEWEST_LEVELS = 6
TAIL = 0.01
PROBED = 1000
LEAST_RUN = 8
FEW_RUNS = 0.1
"""Of the runs of one value the longest so large a share shows how their lengths fall off."""
MULTIPLIER = np.uint64(0x9E3779B97F4A7C15)


def check_pieces(emg: Channel) -> Iterator[Note]:
    """Stretches that stand in the trace twice, sample for sample (``repeated_samples``)."""
    x = emg.samples
    if len(x) < 4 * LONGEST_PIECE or not _takes_levels(x):
        return
    size = _piece_size(x, emg.rate_hz)
    if size is None:
        return
    again = _seen_before(x, size)
    covered = _covered(again, size, len(x))
    share = float(covered.mean())
    if not covered.any():
        return
    begins = np.flatnonzero(np.diff(np.concatenate(([0], covered.astype(np.int8)))) == 1)
    where = places(begins, emg.rate_hz)
    stretches = counted(len(begins), "stretch stands", "stretches stand")
    text = (
        f"{100 * share:.2g} % of the samples are the same as earlier ones, sample for sample:"
        f" {stretches} there a second time, {where}. Noise never repeats."
    )
    yield Note("repeated_samples", text, float(begins[0]) / emg.rate_hz)


def check_runs(emg: Channel, rails: list[RailStretch]) -> Iterator[Note]:
    """Runs of one value far longer than the trace has elsewhere, and shorter than those that are a
    trace that stopped (``repeated_samples``).
    """
    x = emg.samples
    if not _takes_levels(x):
        return
    same = np.diff(x) == 0.0
    edges = np.flatnonzero(np.diff(np.concatenate(([0], same.astype(np.int8), [0]))))
    begins, ends = edges[::2], edges[1::2] + 1
    lengths = ends - begins
    least = _least_run(lengths, len(x))
    long = (lengths >= least) & (lengths < max(16, round(STUCK_S * emg.rate_hz)))
    told = [
        begin
        for begin, end in zip(begins[long].tolist(), ends[long].tolist(), strict=True)
        if not any(rail.touches(begin, end) for rail in rails)
    ]
    if not told:
        return
    longest = int(lengths[long].max())
    text = (
        f"One value is held for up to {longest} samples in"
        f" {counted(len(told), 'place', 'places')}, {places(np.array(told), emg.rate_hz)}: samples"
        " were lost and the last one written again."
    )
    yield Note("repeated_samples", text, float(told[0]) / emg.rate_hz)


def _takes_levels(x: np.ndarray) -> bool:
    """Whether the trace takes more than a few values: one that flickers between neighbouring codes
    repeats itself by chance.
    """
    finite = x[np.isfinite(x)]
    if not len(finite):
        return False
    # Most traces show it in their first samples, and a sort of all costs twenty times as much.
    if _levels_amid(finite):
        return True
    ordered = np.sort(finite)
    low, high = (quantile_in_order(ordered, share) for share in (TAIL, 1.0 - TAIL))
    within = different(ordered)
    return int(np.count_nonzero((within >= low) & (within <= high))) >= FEWEST_LEVELS


def _levels_amid(finite: np.ndarray) -> bool:
    """Whether the middle values of the first samples are enough, and no tails of the trace."""
    first = different(np.sort(finite[:PROBED]))
    begin = (len(first) - FEWEST_LEVELS) // 2
    if begin < 0:
        return False
    lowest, highest = first[begin], first[begin + FEWEST_LEVELS - 1]
    tail = TAIL * len(finite) + 2
    below, above = np.count_nonzero(finite <= lowest), np.count_nonzero(finite >= highest)
    return bool(min(below, above) > tail)


def _least_run(lengths: np.ndarray, count: int) -> float:
    """So long a run is no chance: lengths fall off as powers, and the tenth of the longest tells by
    which. A single sample more is worth a factor; runs that were held stand far beyond.
    """
    if not len(lengths):
        return np.inf
    if len(lengths) < 0.01 * count:
        # So few neighbours are alike that each pair is a chance of one in a hundred.
        return LEAST_RUN
    begin = quantile_in_order(np.sort(lengths), 1.0 - FEW_RUNS)
    longer = lengths[lengths >= begin]
    on = float(np.count_nonzero(longer > begin)) / len(longer)
    # A few held runs among them would make every length look likely: their number is left out.
    on = min(0.97, max(on, 0.05))
    fall = -np.log(on)
    return max(LEAST_RUN, begin + 1.0 + np.log(len(longer) / CHANCE) / fall)


def _piece_size(x: np.ndarray, rate_hz: float) -> int | None:
    """So many samples in a row are never the same twice by chance, by how often eight are: those
    of neighbours, a period of the mains apart, or far apart. ``None`` where even many are.
    """
    periods = (round(k * rate_hz / hz) for hz in (50.0, 60.0) for k in (1, 2, 3, 5, 6, 25))
    lags = sorted({1, 2, 3, *periods, *(int(share * len(x)) for share in FAR)})
    varied = _varied_eights(x)
    before = np.concatenate(([0], np.cumsum(varied)))
    alike = [_eight_alike(x, lag, varied, before) for lag in lags if 0 < lag < len(x) // 2]
    if max(alike) > LOOPS:
        return SHORTEST_PIECE
    pairs = 0.5 * float(len(x)) ** 2
    size = int(np.ceil(8.0 * np.log(pairs / CHANCE) / -np.log(max(alike))))
    return max(SHORTEST_PIECE, size) if size <= LONGEST_PIECE else None


def _varied_eights(x: np.ndarray) -> np.ndarray:
    """Where eight samples begin that change half of the time."""
    changes = np.concatenate(([0], np.cumsum(np.diff(x) != 0.0)))
    return np.asarray(changes[7:] - changes[:-7] >= 4)


def _eight_alike(x: np.ndarray, lag: int, varied: np.ndarray, before: np.ndarray) -> float:
    """How often eight varied samples in a row are those of ``lag`` earlier; not less than could be
    seen. ``before`` counts the varied ones before each place.
    """
    alike = x[lag:] == x[:-lag]
    count = len(alike) - 7
    chosen = int(before[lag + count] - before[lag])
    for ahead in (1, 2, 4):
        alike = alike[ahead:] & alike[:-ahead]
    return float(np.count_nonzero(alike & varied[lag : lag + count]) + 1) / (chosen + 1)


def _seen_before(x: np.ndarray, size: int) -> np.ndarray:
    """Where a piece of ``size`` samples begins that stands earlier in the trace as well; pieces of
    less variety than the trace has are left out.
    """
    keys = np.ascontiguousarray(x + 0.0).view(np.uint64) * MULTIPLIER
    keys ^= keys >> np.uint64(29)
    digest = _digests(keys, size)
    # Nearly always none is there twice, and a sort alone takes a fifth of the time.
    in_order = np.sort(digest)
    if not (in_order[1:] == in_order[:-1]).any():
        return np.zeros(0, dtype=np.int64)
    order = np.argsort(digest, kind="stable")
    sorted_digest = digest[order]
    second = order[1:][sorted_digest[1:] == sorted_digest[:-1]]
    varied = _variety(x, size)
    return np.sort(second[varied[second]])


def _digests(keys: np.ndarray, size: int) -> np.ndarray:
    """The polynomial in ``MULTIPLIER`` of each ``size`` keys in a row, the first with the highest
    power, modulo 2^64: pieces of one length are made of two halves, so it takes few steps.
    """
    whole, length = np.zeros(len(keys), dtype=np.uint64), 0
    part, part_length, power = keys, 1, MULTIPLIER
    while True:
        if size & part_length:
            count = len(keys) - length - part_length + 1
            whole = whole[:count] * power + part[length : length + count]
            length += part_length
        if 2 * part_length > size:
            return whole
        part = part[:-part_length] * power + part[part_length:]
        part_length, power = 2 * part_length, np.uint64(int(power) ** 2 % 2**64)


def _variety(x: np.ndarray, size: int) -> np.ndarray:
    """Which pieces change as often as the trace does elsewhere: a stage at its stop repeats itself
    without any help.
    """
    changes = np.concatenate(([0], np.cumsum(np.diff(x) != 0.0)))
    inside = changes[size - 1 :] - changes[: len(x) - size + 1]
    return np.asarray(inside >= max(0.7 * float(np.median(inside)), size / 3.0))


def _covered(begins: np.ndarray, size: int, count: int) -> np.ndarray:
    """The samples of the pieces that begin there."""
    steps = np.zeros(count + 1, dtype=np.int64)
    np.add.at(steps, begins, 1)
    np.add.at(steps, begins + size, -1)
    return np.cumsum(steps)[:count] > 0
