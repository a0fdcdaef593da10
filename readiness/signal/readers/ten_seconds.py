"""Samples placed in time with their gaps left open, and the ten seconds that are judged."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from gettext import ngettext

import numpy as np

from readiness.signal.capture import PLACES_NAMED, Note
from readiness.signal.counts import counted
from readiness.signal.errors import CaptureRefused

from .limits import LONGEST_S, MAX_RATE_HZ, MAX_VALUES, SHORTEST_S, WINDOW_S
from .raw_table import Gaps

LARGEST_GAP = 1e9
"""Samples; a longer gap is counted as that long."""
LONGEST_SPREAD_S = MAX_VALUES / MAX_RATE_HZ
"""Gaps are left open as long as the row is no longer than this."""
ROUNDING_S = 1e-9
GAPS_LISTED = 200
"""So many gaps beyond the first few are listed with their places; a file with more is beyond
reading.
"""


@dataclass(frozen=True, eq=False)
class Layout:
    """Where the samples of one channel stand in the ten seconds.

    Attributes
    ----------
    rate_hz : float
        Samples per second of the channel.
    length : int
        Samples of the whole row, open gaps counted.
    start, stop : int
        The ten seconds in it.
    gap_after, gap_samples : numpy.ndarray
        Shape (g,): the sample before each gap, and how many lack there.
    positions : numpy.ndarray or None
        Place of each sample in the row, where gaps are left open in it.
    """

    rate_hz: float
    length: int
    start: int
    stop: int
    gap_after: np.ndarray
    gap_samples: np.ndarray
    positions: np.ndarray | None

    def place(self, samples: np.ndarray) -> np.ndarray:
        """Samples of the ten seconds, NaN where the file has none; shape (stop - start,)."""
        if self.positions is None:
            return samples[self.start : self.stop]
        row = np.full(self.length, np.nan)
        row[self.positions] = samples
        return row[self.start : self.stop]

    def position(self, index: int) -> int:
        """Where in the row a sample of the file stands."""
        return index if self.positions is None else int(self.positions[index])

    def holds(self, position: int) -> bool:
        """Whether a place of the row is among the ten seconds."""
        return self.start <= position < self.stop


def lay_out(count: int, rate_hz: float, gaps: Gaps, window_start_s: float | None) -> Layout:
    """Place ``count`` samples with gaps, and cut out the ten seconds that are judged.

    Gaps become missing samples (NaN) as long as the row then fits the ten seconds or a window was
    chosen. Ten seconds of samples torn apart by a gap that makes them longer than the test are kept
    in order, one after the other: the notes tell the gap, and nothing is thrown away.

    Raises
    ------
    CaptureRefused
        Shorter than 9.7 s; longer than 10.5 s without a window (``missing="window"``); a window
        outside the file.
    """
    after = np.rint(gaps.at_s * rate_hz).astype(np.int64) - 1
    samples = _whole_samples(np.minimum(gaps.lacking_s * rate_hz, LARGEST_GAP))
    recorded_s = count / rate_hz
    lacking_s = float(gaps.lacking_s.sum())
    open_gaps = _gaps_stay_open(recorded_s, lacking_s, window_start_s)
    whole_s = recorded_s + lacking_s if open_gaps else recorded_s
    if whole_s < SHORTEST_S - ROUNDING_S:
        raise CaptureRefused(
            f"The capture lasts {whole_s:.2f} s; a test takes ten ({SHORTEST_S:g} to {LONGEST_S:g}"
            " s are taken). Record it again in full."
        )
    length = count + int(samples.sum()) if open_gaps else count
    start, stop = _window(length, whole_s, rate_hz, window_start_s)
    positions = _positions(count, after, samples) if open_gaps else None
    return Layout(rate_hz, length, start, stop, after, samples, positions)


def _whole_samples(lacking: np.ndarray) -> np.ndarray:
    """Gaps in whole samples, so that many small ones add up to what they take together."""
    ends = np.rint(np.cumsum(lacking)).astype(np.int64)
    return np.diff(np.concatenate(([0], ends)))


def gap_notes(layout: Layout) -> Iterator[Note]:
    """One note for each of the first gaps in the ten seconds, and one that lists the rest."""
    begins = layout.gap_after + 1 - layout.start
    if layout.positions is not None:
        lacking_before = np.cumsum(layout.gap_samples) - layout.gap_samples
        begins = begins + lacking_before
    lacks = layout.gap_samples > 0
    inside = np.flatnonzero(lacks & (begins >= 0) & (begins < layout.stop - layout.start))
    for index in inside[:PLACES_NAMED]:
        yield _gap_note(layout, int(begins[index]), int(layout.gap_samples[index]))
    rest = inside[PLACES_NAMED:]
    if len(rest):
        more = counted(len(rest), "more gap follows", "more gaps follow")
        yield Note("missing_samples", f"{more}: {_listed(layout, begins, rest)}.")


def _listed(layout: Layout, begins: np.ndarray, gaps: np.ndarray) -> str:
    """Gaps with their places and how many samples lack in each, in few words."""
    listed = ", ".join(
        f"{begins[gap] / layout.rate_hz:.4g} s ({layout.gap_samples[gap]})"
        for gap in gaps[:GAPS_LISTED]
    )
    unlisted = len(gaps) - GAPS_LISTED
    if unlisted <= 0:
        return listed
    return f"{listed} and {counted(unlisted, 'more', 'more')}"


def empty_cell_notes(samples: np.ndarray, layout: Layout, first_line: int | None) -> Iterator[Note]:
    """Notes on samples of the EMG that the file has a place for but no number, by stretch."""
    empty = np.isnan(samples)
    if not empty.any():
        return
    edges = np.flatnonzero(np.diff(np.concatenate(([False], empty, [False])).astype(np.int8)))
    stretches = zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)
    inside = [(begin, end) for begin, end in stretches if layout.holds(layout.position(begin))]
    for begin, end in inside[:PLACES_NAMED]:
        yield _empty_cells_note(begin, end, layout, first_line)
    if len(inside) > PLACES_NAMED:
        more = counted(len(inside) - PLACES_NAMED, "more place holds", "more places hold")
        yield Note("missing_samples", f"{more} no finite number.")


def _gaps_stay_open(recorded_s: float, lacking_s: float, window_start_s: float | None) -> bool:
    whole_s = recorded_s + lacking_s
    if not lacking_s > 0.0 or whole_s > LONGEST_SPREAD_S:
        return False
    torn_apart = recorded_s <= LONGEST_S < whole_s
    return not torn_apart or window_start_s is not None


def _window(
    length: int, whole_s: float, rate_hz: float, window_start_s: float | None
) -> tuple[int, int]:
    if whole_s <= LONGEST_S + ROUNDING_S and not window_start_s:
        return 0, length
    if window_start_s is None:
        raise CaptureRefused(
            f"The capture lasts {whole_s:.1f} s and a test takes ten.",
            missing="window",
            answer="Say with --from at which second the test starts.",
        )
    if not 0.0 <= window_start_s <= whole_s - SHORTEST_S + ROUNDING_S:
        raise CaptureRefused(
            f"Ten seconds from second {window_start_s:g} on are not in the file, which lasts"
            f" {whole_s:.2f} s.",
            missing="window",
            answer=f"Give --from a second from 0 to {max(0.0, whole_s - WINDOW_S):.2f}.",
        )
    start = round(window_start_s * rate_hz)
    return start, min(length, start + round(WINDOW_S * rate_hz))


def _positions(count: int, gap_after: np.ndarray, gap_samples: np.ndarray) -> np.ndarray:
    shift = np.zeros(count, dtype=np.int64)
    np.add.at(shift, gap_after + 1, gap_samples)
    return np.arange(count, dtype=np.int64) + np.cumsum(shift)


def _gap_note(layout: Layout, begin: int, lacking: int) -> Note:
    start_s = begin / layout.rate_hz
    gap_s = lacking / layout.rate_hz
    samples, lack = counted(lacking, "sample", "samples"), ngettext("lacks", "lack", lacking)
    text = f"{samples} ({gap_s:.4g} s) {lack} at {start_s:.4g} s"
    if layout.positions is not None:
        return Note("missing_samples", f"{text}.", start_s, start_s + gap_s)
    late = f"; what follows stands {gap_s:.3g} s early"
    return Note("missing_samples", f"{text}{late}.", start_s, start_s)


def _empty_cells_note(begin: int, end: int, layout: Layout, first_line: int | None) -> Note:
    start_s = (layout.position(begin) - layout.start) / layout.rate_hz
    place = f"at {start_s:.4g} s"
    if first_line is not None:
        lines = f"line {first_line + begin}"
        if end - begin > 1:
            lines += f" to {first_line + end - 1}"
        place = f"{lines}, {place}"
    cells, hold = counted(end - begin, "cell", "cells"), ngettext("holds", "hold", end - begin)
    text = f"{cells} of the EMG column {hold} no finite number ({place})."
    return Note("missing_samples", text, start_s, start_s + (end - begin) / layout.rate_hz)
