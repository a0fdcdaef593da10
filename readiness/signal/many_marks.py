"""One mark laid over many stored ones: some at a time, which takes a third of the time that one
after the other would.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from .sample_marks import SampleMark, best_place, fourier_size, spectrum_of, states_in

AT_ONCE = 16
"""So many stay in the processor's cache; more at once are no quicker."""


def begins_later(mark: SampleMark, stored: Sequence[bytes]) -> Iterator[float | None]:
    """For each stored mark that shares words with a new one, in order: by how many seconds the new
    one begins after it; ``None`` where it is another recording. What is not asked for is not
    worked out, but for up to ``AT_ONCE``.
    """
    for begin in range(0, len(stored), AT_ONCE):
        yield from _of_some(mark, [states_in(each) for each in stored[begin : begin + AT_ONCE]])


def _of_some(mark: SampleMark, states: Sequence[np.ndarray]) -> Iterator[float | None]:
    # Its first use costs a fifth of a second; pages that only show results never pay it.
    from scipy import fft

    longest = max(map(len, states))
    size = fourier_size(longest + len(mark.states))
    rows = np.zeros((len(states), longest), dtype=np.float32)
    for row, each in zip(rows, states, strict=True):
        row[: len(each)] = each
    spectra = fft.rfft(rows, size, axis=1)
    spectra *= np.conj(spectrum_of(mark, size))
    for sums, each in zip(fft.irfft(spectra, size, axis=1), states, strict=True):
        place = best_place(sums, mark, SampleMark(each, frozenset()))
        yield None if place is None else place[1]
