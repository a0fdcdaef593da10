"""What a time column says: the rate, whether its steps are steady, and where samples lack."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from readiness.signal.capture import Note
from readiness.signal.errors import CaptureRefused

from .limits import LONGEST_S, MAX_RATE_HZ, MAX_VALUES, SHORTEST_S, WINDOW_S

PLACES_TOLD = 5
"""A note names that many places; further ones are only counted."""


@dataclass(frozen=True, eq=False)
class Steps:
    """The steps of a time column of n samples.

    Attributes
    ----------
    rate_hz : float
        Samples per second: regular steps divided by their total time.
    rate_tolerance : float
        Relative uncertainty of ``rate_hz`` from the decimals the times were written with.
    gap_after, gap_samples : numpy.ndarray
        Shape (g,): index of the sample before each gap, and how many samples lack in it.
    repeated, backward, uneven : numpy.ndarray
        Indices i whose step to i + 1 is zero, negative, or neither regular nor a gap.
    regular : float
        Share of steps that are regular, 0 to 1.
    """

    rate_hz: float
    rate_tolerance: float
    gap_after: np.ndarray
    gap_samples: np.ndarray
    repeated: np.ndarray
    backward: np.ndarray
    uneven: np.ndarray
    regular: float


def written_step(values: np.ndarray) -> float:
    """Smallest decimal step (1, 0.1, ... 1e-9) on which up to 200 of ``values`` lie; 1e-10 where
    none fits.
    """
    probe = values[:: max(1, len(values) // 200)]
    probe = probe[np.isfinite(probe)]
    for decimals in range(10):
        scaled = probe * 10.0**decimals
        if np.all(np.abs(scaled - np.rint(scaled)) <= 1e-4 + 1e-15 * np.abs(scaled)):
            return 10.0**-decimals
    return 1e-10


def measure_steps(t: np.ndarray) -> Steps | None:
    """Judge the steps of a time column.

    Parameters
    ----------
    t : numpy.ndarray
        Shape (n,), seconds, finite.

    Returns
    -------
    Steps or None
        ``None`` where fewer than half of the steps agree with their median (no steady rate), or n <
        3.

    Notes
    -----
    Times are written with few decimals, so a step may be off by less than one unit of the last
    decimal without meaning anything; beyond that and beyond 0.3 of a step (common practice, no
    published source) it is irregular.
    """
    if len(t) < 3:
        return None
    with np.errstate(over="ignore", invalid="ignore"):
        steps = np.diff(t)
        quantum = written_step(t)
        typical, allowed = _typical_step(steps, float(t[-1] - t[0]) / len(steps), quantum)
        if not 0.0 < typical < np.inf:
            return None
        near = np.abs(steps - typical) <= allowed
        count = int(np.count_nonzero(near))
        total = float(t[-1] - t[0]) if count == len(steps) else float(steps.sum(where=near))
    if count < 0.5 * len(steps) or total <= 0.0:
        return None
    rate = count / total
    tolerance = min(1.0, 2.0 * quantum / total)
    if abs(rate - round(rate)) <= rate * tolerance:
        rate = float(round(rate))
    odd = np.flatnonzero(~near)
    return _sorted_out(steps, odd, rate, tolerance, allowed, count / len(steps))


def _typical_step(steps: np.ndarray, mean: float, quantum: float) -> tuple[float, float]:
    """The step of a column, and how far a step may be from it; ``mean`` is the mean step."""
    allowed = max(1.01 * quantum, 0.3 * mean)
    if quantum < 0.5 * mean and steps.max() <= mean + allowed and steps.min() >= mean - allowed:
        return mean, allowed  # a clean column is told by its extremes, without the median
    middle = float(np.median(steps))
    if quantum < 0.5 * middle:
        return middle, max(1.01 * quantum, 0.3 * middle)
    equal = np.count_nonzero(np.abs(steps - middle) < 0.01 * quantum)
    if middle > 0.0 and equal >= 0.999 * len(steps):
        return middle, 0.3 * middle  # steps of whole last decimals: an odd one is no rounding
    return mean, max((1.0 - 1e-6) * quantum, 0.3 * mean)


def _sorted_out(
    steps: np.ndarray,
    odd: np.ndarray,
    rate: float,
    tolerance: float,
    allowed: float,
    regular: float,
) -> Steps:
    size = steps[odd]
    is_gap = size > 1.0 / rate + allowed
    gap_after = odd[is_gap]
    lacking = np.minimum(np.rint(steps[gap_after] * rate) - 1.0, float(MAX_VALUES) * 4.0)
    backward = odd[size < 0.0]
    repeated = odd[size == 0.0]
    uneven = odd[~is_gap & (size > 0.0)]
    return Steps(
        rate, tolerance, gap_after, lacking.astype(np.int64), repeated, backward, uneven, regular
    )


def places(indices: np.ndarray, rate_hz: float) -> str:
    """``"at 1.25 s, 3.5 s and 4 more places"`` for sample indices."""
    told = ", ".join(f"{i / rate_hz:.4g} s" for i in indices[:PLACES_TOLD])
    more = len(indices) - PLACES_TOLD
    return f"at {told}" + (f" and {more} more place{'s' if more > 1 else ''}" if more > 0 else "")


@dataclass(frozen=True, eq=False)
class Layout:
    """Where the samples of a file stand in the capture that is judged.

    ``positions`` (shape (n,)) is the place of each sample in a row of ``length``, with places left
    over where samples lack; ``None`` when they follow each other. ``start`` and ``stop`` cut the
    ten seconds out of the row.
    """

    length: int
    start: int
    stop: int
    positions: np.ndarray | None = None

    def place(self, samples: np.ndarray) -> np.ndarray:
        """Samples of the window, NaN where the file has none; shape (stop - start,)."""
        if self.positions is None:
            return samples[self.start : self.stop]
        row = np.full(self.length, np.nan)
        row[self.positions] = samples
        return row[self.start : self.stop]


def lay_out(
    count: int,
    rate_hz: float,
    gap_after: np.ndarray,
    gap_samples: np.ndarray,
    window_start_s: float | None,
    lacking_s: float | None = None,
) -> Layout:
    """Place ``count`` samples with gaps, and cut the ten seconds that are judged.

    Gaps become missing samples (NaN) as long as the row then fits the ten seconds or a window was
    chosen. Ten seconds of samples torn apart by a gap that makes them longer than the test are kept
    in order, one after the other: the notes tell the gap, and nothing is thrown away. ``lacking_s``
    is the length of all gaps where they are known in seconds, so that channels of differing rates
    are laid out alike.

    Raises
    ------
    CaptureRefused
        Shorter than 9.7 s; longer than 10.5 s without a window (``missing="window"``); a window
        outside the file.
    """
    lacking = int(gap_samples.sum()) if len(gap_samples) else 0
    lacking_s = lacking / rate_hz if lacking_s is None else lacking_s
    recorded_s = count / rate_hz
    whole_s = recorded_s + lacking_s
    spread = lacking_s > 0.0 and whole_s <= MAX_VALUES / MAX_RATE_HZ
    if spread and whole_s > LONGEST_S and window_start_s is None and recorded_s <= LONGEST_S:
        spread, whole_s = False, recorded_s
    elif not spread:
        whole_s = recorded_s
    if whole_s < SHORTEST_S - 1e-9:
        raise CaptureRefused(
            f"The capture lasts {whole_s:.2f} s; a test takes ten ({SHORTEST_S:g} to {LONGEST_S:g}"
            " s are taken). Record it again in full."
        )
    length = count + (lacking if spread else 0)
    start, stop = _window(length, whole_s, rate_hz, window_start_s)
    return Layout(
        length, start, stop, _positions(count, gap_after, gap_samples) if spread else None
    )


def _window(
    length: int, whole_s: float, rate_hz: float, window_start_s: float | None
) -> tuple[int, int]:
    if whole_s <= LONGEST_S + 1e-9 and not window_start_s:
        return 0, length
    if window_start_s is None:
        raise CaptureRefused(
            f"The capture lasts {whole_s:.1f} s and a test takes ten. Say at which second the test"
            " starts.",
            missing="window",
        )
    if not 0.0 <= window_start_s <= whole_s - SHORTEST_S + 1e-9:
        raise CaptureRefused(
            f"Ten seconds from second {window_start_s:g} on are not in the file, which lasts"
            f" {whole_s:.2f} s.",
            missing="window",
        )
    start = round(window_start_s * rate_hz)
    return start, min(length, start + round(WINDOW_S * rate_hz))


def _positions(count: int, gap_after: np.ndarray, gap_samples: np.ndarray) -> np.ndarray:
    shift = np.zeros(count, dtype=np.int64)
    np.add.at(shift, gap_after + 1, gap_samples)
    return np.arange(count, dtype=np.int64) + np.cumsum(shift)


def gap_notes(
    gap_after: np.ndarray, gap_samples: np.ndarray, rate_hz: float, layout: Layout, where: str = ""
) -> list[Note]:
    """One note for each of the first gaps inside the window, and one that counts the rest."""
    notes: list[Note] = []
    before = (
        np.concatenate(([0], np.cumsum(gap_samples)[:-1])) if layout.positions is not None else 0
    )
    begins = gap_after + 1 + before - layout.start
    inside = np.flatnonzero((begins >= 0) & (begins < layout.stop - layout.start))
    for index in inside[:PLACES_TOLD]:
        start_s, lacking = float(begins[index]) / rate_hz, int(gap_samples[index])
        filled = layout.positions is not None
        end_s = start_s + lacking / rate_hz if filled else start_s
        late = "" if filled else f"; what follows stands {lacking / rate_hz:.3g} s early"
        text = (
            f"{lacking} samples ({lacking / rate_hz:.4g} s) lack at {start_s:.4g} s{where}{late}."
        )
        notes.append(Note("missing_samples", text, start_s, end_s))
    if len(inside) > PLACES_TOLD:
        notes.append(Note("missing_samples", f"{len(inside) - PLACES_TOLD} more gaps follow."))
    return notes
