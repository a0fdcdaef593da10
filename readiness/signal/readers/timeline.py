"""Samples placed in time with their gaps left open, and the ten seconds that are judged."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from readiness.signal.capture import PLACES_NAMED, Note
from readiness.signal.errors import CaptureRefused

from .limits import LONGEST_S, MAX_RATE_HZ, MAX_VALUES, SHORTEST_S, WINDOW_S


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
    for index in inside[:PLACES_NAMED]:
        start_s, lacking = float(begins[index]) / rate_hz, int(gap_samples[index])
        filled = layout.positions is not None
        end_s = start_s + lacking / rate_hz if filled else start_s
        late = "" if filled else f"; what follows stands {lacking / rate_hz:.3g} s early"
        text = (
            f"{lacking} samples ({lacking / rate_hz:.4g} s) lack at {start_s:.4g} s{where}{late}."
        )
        notes.append(Note("missing_samples", text, start_s, end_s))
    if len(inside) > PLACES_NAMED:
        notes.append(Note("missing_samples", f"{len(inside) - PLACES_NAMED} more gaps follow."))
    return notes
