"""Taking mains lines out of frame spectra: which stand out, what they leak, and which need a wider
guard.
"""

from __future__ import annotations

import numpy as np

from readiness.signal.statistics.robust import median


def around(hz: np.ndarray, lines: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Bins within 19 Hz of each line (lines, bins), and their distance in Hz, infinite beyond the
    ends.
    """
    reach = int(19 / (hz[1] - hz[0])) + 1
    bins = np.rint(lines / (hz[1] - hz[0])).astype(int)[:, None] + np.arange(-reach, reach + 1)
    inside = np.clip(bins, 0, len(hz) - 1)
    return inside, np.where(bins == inside, np.abs(hz[inside] - lines[:, None]), np.inf)


def _median_where(values: np.ndarray, chosen: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Median of the chosen values of each row, infinite for none, and how many were chosen."""
    count = chosen.sum(axis=1)
    ordered = np.sort(np.where(chosen, values, np.inf), axis=1)
    row = np.arange(len(values))
    return (ordered[row, np.maximum(count - 1, 0) // 2] + ordered[row, count // 2]) / 2, count


def stand_out(raw: np.ndarray, bins: np.ndarray, distance: np.ndarray) -> np.ndarray:
    """Which lines are strong enough to leak beyond their guard; fitting a weak one would add noise
    beside it.
    """
    values = raw[bins]
    level, count = _median_where(values, (distance > 9) & (distance < 18))
    near = np.where(distance < 2, values, -np.inf).max(axis=1)
    return (count > 0) & (near > 20 * level)


def wavers(
    usable: np.ndarray, density: np.ndarray, bins: np.ndarray, distance: np.ndarray
) -> np.ndarray:
    """Which lines may need a wider guard: the bins next to it stand above those farther out."""
    free, values = usable[bins], density[bins]
    level, count = _median_where(values, (distance > 9) & (distance < 18) & free)
    ring = (distance > 2.5) & (distance <= 4.5) & free
    mean = np.where(ring, values, 0).sum(axis=1) / np.maximum(ring.sum(axis=1), 1)
    return (count >= 6) & (mean >= 1.8 * level)


class LineFits:
    """Shapes of lines in frames of ``size`` samples, and what fits them: kept, for a capture's
    lines are taken out of more than one spectrum of it.
    """

    def __init__(self, size: int) -> None:
        self.size = size
        self._known: dict[float, tuple[np.ndarray, np.ndarray]] = {}

    def of(
        self, centres: np.ndarray, first: np.ndarray, last: np.ndarray
    ) -> list[tuple[np.ndarray, np.ndarray]]:
        """Shape (88, 3) and inverse (3, 8) of lines at ``centres``, fitted to the bins from
        ``first`` to one before ``last``.
        """
        keys = centres.tolist()
        new = np.array([key not in self._known for key in keys], dtype=bool)
        if new.any():
            shapes = _line_shapes(first[new] - 40 - centres[new], 88, self.size)
            close = shapes[:, 40:48].copy()
            close[np.arange(8) >= (last - first)[new, None]] = 0
            # Three columns of full rank: their QR takes a third of the time that ``pinv`` takes.
            turned, corner = np.linalg.qr(close)
            inverses = np.linalg.inv(corner) @ turned.conj().swapaxes(1, 2)
            fits = zip(shapes, inverses, strict=True)
            self._known.update(zip(centres[new].tolist(), fits, strict=True))
        return [self._known[key] for key in keys]


def take_out(
    spectra: np.ndarray, centres: np.ndarray, size: int, fits: LineFits | None = None
) -> list[slice]:
    """Subtract lines from every frame: amplitude, slope and curvature over the frame are free, so
    drift goes too.

    ``centres`` (l,) in bins; returns which bins were changed. A line is fitted to the eight bins
    round it (fewer at the ends: the shape's other rows are noughts and weigh nothing) and
    subtracted from the 88 bins round it.
    """
    whole = centres.astype(int)
    first, last = np.maximum(1, whole - 3), np.minimum(spectra.shape[1], whole + 5)
    enough = last - first >= 5
    if not enough.any():
        return []
    centres, first, last = centres[enough], first[enough], last[enough]
    both = (fits or LineFits(size)).of(centres, first, last)
    changed = []
    for begin, end, (shape, inverse) in zip(first.tolist(), last.tolist(), both, strict=True):
        wide = slice(max(1, begin - 40), min(spectra.shape[1], begin + 48))
        coefficients = inverse[:, : end - begin] @ spectra[:, begin:end].T
        spectra[:, wide] -= (
            shape[wide.start - begin + 40 : wide.stop - begin + 40] @ coefficients
        ).T
        changed.append(wide)
    return changed


def _line_shapes(start: np.ndarray, count: int, size: int) -> np.ndarray:
    """Spectra of Hann-windowed lines, and of the same with a slope and a curvature: (l, count, 3).

    The rows of each stand at distances ``start``, ``start + 1``, ... bins from its line.
    """
    reach = 0.05
    # The Hann kernel is three Dirichlet kernels a bin apart, so one longer row of them serves all
    # rows.
    v = start[:, None, None] + np.arange(-1, count + 1) + np.array([[0.0], [reach], [-reach]])
    plain = _dirichlet(v, size)
    hann = 0.5 * plain[:, :, 1:-1] - 0.25 * (plain[:, :, :-2] + plain[:, :, 2:])
    middle, above, below = hann[:, 0], hann[:, 1], hann[:, 2]
    return np.stack(
        [middle, (above - below) / (2 * reach), (above - 2 * middle + below) / reach**2], axis=2
    )


def _dirichlet(v: np.ndarray, size: int) -> np.ndarray:
    v = np.where(np.abs(v) < 1e-9, 1e-9, v)
    return (
        np.exp(-1j * np.pi * v * (size - 1) / size) * np.sin(np.pi * v) / np.sin(np.pi * v / size)
    )


def widen(usable: np.ndarray, hz: np.ndarray, density: np.ndarray, line: float) -> None:
    """Leave out more around a line whose strength wavers: while the next two bins stand above those
    farther out.
    """
    near = slice(*np.searchsorted(hz, (line - 19, line + 19)))
    away, usable, density = np.abs(hz[near] - line), usable[near], density[near]
    far = (away > 9) & (away < 18) & usable
    if np.count_nonzero(far) < 6:
        return
    level = median(density[far])
    for reach in (3.5, 5.5, 7.5):
        ring = (away > reach - 1) & (away <= reach + 1) & usable
        # Four bins of 36 degrees of freedom each scatter by about 15 %: 1.8 is five times that
        # above the level.
        if not ring.any() or float(density[ring].mean()) < 1.8 * level:
            return
        usable[ring] = False
