"""Whether two captures are the same recording, whatever file, unit, format or piece they stand in.

Noise never repeats itself. Between 20 and 250 Hz, where every amplifier passes, ten seconds hold
some 4,600 independent values, so that two recordings agree by chance to a few hundredths. What is
alike in all captures of a room is taken out first: lines (mains), and steps of open leads, which
count as one value each. What is left is kept as three states on a grid of one millisecond: below,
about and above zero. Scale, offset, sign, rate and rounding leave them as they are.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from .statistics.robust import median

GRID_HZ = 1000.0
LOW_HZ, HIGH_HZ = 20.0, 250.0
OF_RATE = 0.4
CLIPPED_AT = 5.0
FADED_S = 0.5
BLOCK_HZ = 8.0
LINE = 4.0
"""Noise alone goes above so many medians of its neighbours once in 65,000 bins (Rayleigh)."""
ABOUT_ZERO = 0.3
LEAST_CHANGES = 500
LEAST_SHARED = 1500
"""Of the states of two seconds three in four are off zero: below that nothing is compared."""
ALIKE = 0.3
"""Eight standard deviations of chance over two seconds; a copy that lies half a grid step off
agrees to 0.6.
"""
FOURIER_STEP = 1000
"""A multiple of it has small factors."""
WORD_BITS = 32
WORD_STEP = 2
"""Grid steps after which a value of the band is a new one."""
ONE_WORD_OF = 16
WORDS_SHARED = 3
"""Chance gives a hundredth of one, and a little more where steps of leads are alike."""
LEAST_TELLING = 20
"""A word of a stretch that stands still says nothing."""
SCRAMBLE = np.uint64(0x9E3779B1)


@dataclass(frozen=True, eq=False)
class SampleMark:
    """What is kept of a capture's samples to know them again: states (-1, 0 or 1, int8) on a grid
    of `GRID_HZ`, and some of their words, which a copy shares and another recording does not.
    """

    states: np.ndarray
    words: frozenset[int]

    @cached_property
    def off_zero(self) -> np.ndarray:
        """How many states are off zero before each one, and in all."""
        return np.concatenate([[0], np.cumsum(np.abs(self.states), dtype=np.int64)])

    @cached_property
    def spectra(self) -> dict[int, np.ndarray]:
        """Spectra of the states by their size, kept for comparing with many."""
        return {}

    def to_bytes(self) -> bytes:
        """Two bits a state and four bytes a word, 6 kB for ten seconds; ``mark_from`` gives the
        same mark back.
        """
        words = np.array([len(self.words), *self.words], dtype="<u4")
        bits = np.packbits(np.concatenate([self.states > 0, self.states < 0]))
        return (
            words.tobytes() + np.array([len(self.states)], dtype="<u4").tobytes() + bits.tobytes()
        )


def is_whole(stored: bytes) -> bool:
    """Whether bytes are a mark as ``to_bytes`` writes one, and no piece of it nor more."""
    at = 4 * (int.from_bytes(stored[:4], "little") + 1)
    states = int.from_bytes(stored[at : at + 4], "little")
    return len(stored) == at + 4 + -(-2 * states // 8)


def mark_from(data: bytes) -> SampleMark:
    """The mark that was stored."""
    return SampleMark(states_in(data), frozenset(words_in(data).tolist()))


def states_in(stored: bytes) -> np.ndarray:
    """The states of a stored mark, shape (n,), int8."""
    at = 4 * (int.from_bytes(stored[:4], "little") + 1)
    size = int.from_bytes(stored[at : at + 4], "little")
    bits = np.unpackbits(np.frombuffer(stored, np.uint8, offset=at + 4), count=2 * size)
    up, down = bits.view(np.int8).reshape(2, size)
    return up - down


def may_share(mark: SampleMark, stored: bytes) -> bool:
    """Whether a mark and a stored one have words in common: a quick look, for many."""
    return _enough(mark.words.intersection(words_in(stored).tolist()))


def words_in(stored: bytes) -> np.ndarray:
    """The words of a stored mark, as unsigned numbers of 32 bits."""
    count = int(np.frombuffer(stored, "<u4", 1)[0])
    return np.frombuffer(stored, "<u4", count, offset=4)


def _enough(words: frozenset[int]) -> bool:
    return len(words) >= WORDS_SHARED


def mark_of(samples: np.ndarray, rate_hz: float) -> SampleMark | None:
    """The mark of a capture's samples (shape (n,), any unit, NaN in gaps); ``None`` where too
    little changes in them to tell one recording from another.
    """
    changes = np.nan_to_num(np.diff(samples), nan=0.0, posinf=0.0, neginf=0.0)
    moving = np.abs(changes[changes != 0.0])
    if len(moving) < LEAST_CHANGES:
        return None
    clip = CLIPPED_AT * median(moving)
    band = _whitened(np.clip(changes, -clip, clip), rate_hz)
    size = float(np.sqrt(np.mean(np.square(band))))
    if size == 0.0:
        return None
    states = (band > ABOUT_ZERO * size).astype(np.int8) - (band < -ABOUT_ZERO * size)
    return SampleMark(states, _words(states))


def _whitened(changes: np.ndarray, rate_hz: float) -> np.ndarray:
    """The changes on the grid: all frequencies of the band alike in size, lines left out.

    Both ends are faded over half a second, which keeps a strong line in its place. Sizes are
    smoothed over 8 Hz, so that what is done to a sample depends on its next eighth of a second
    only, and a piece is done to like the whole.
    """
    spectrum = np.fft.rfft(changes * _faded(len(changes), rate_hz))
    on_grid = round(len(changes) * GRID_HZ / rate_hz)
    hz = np.arange(on_grid // 2 + 1) * rate_hz / len(changes)
    inside = (hz >= LOW_HZ) & (hz <= min(HIGH_HZ, OF_RATE * rate_hz))
    values = spectrum[: len(hz)][inside[: len(spectrum)]]
    sizes = np.abs(values)
    a_block = max(1, round(BLOCK_HZ * len(changes) / rate_hz))
    blocks = [sizes[start : start + a_block] for start in range(0, len(sizes), a_block)]
    middles = a_block * (np.arange(len(blocks)) + 0.5)
    usual = np.interp(np.arange(len(sizes)), middles, [median(block) for block in blocks])
    keep = (sizes > 0.0) & (sizes < LINE * usual)
    even = np.zeros(len(hz), dtype=complex)
    even[np.flatnonzero(inside)[: len(values)][keep]] = values[keep] / usual[keep]
    return np.fft.irfft(even, on_grid)


def _faded(count: int, rate_hz: float) -> np.ndarray:
    """A window that is flat between its ends."""
    length = min(round(FADED_S * rate_hz), count // 2)
    rise = 0.5 - 0.5 * np.cos(np.pi * (np.arange(length) + 0.5) / length)
    return np.concatenate([rise, np.ones(count - 2 * length), rise[::-1]])


def _words(states: np.ndarray) -> frozenset[int]:
    """Every 32 signs that a fixed rule picks, one in 16: it picks the same ones in a
    copy. Signs of either kind, so that a trace turned over keeps its words.
    """
    both = _pieces(states > 0), _pieces(states < 0)
    telling = sum(np.bitwise_count(words) for words in both) >= LEAST_TELLING
    found: set[int] = set()
    for words in both:
        picked = ((words * SCRAMBLE) >> np.uint64(7)) % np.uint64(ONE_WORD_OF) == 0
        found.update(words[picked & telling].tolist())
    return frozenset(found)


def _pieces(signs: np.ndarray) -> np.ndarray:
    """The word that begins at each place, uint64: put together from halves, quarters and so on."""
    words, bits = signs.astype(np.uint64), 1
    while bits < WORD_BITS:
        words = (words[: -WORD_STEP * bits] << np.uint64(bits)) | words[WORD_STEP * bits :]
        bits *= 2
    return words


def same_samples(mark: SampleMark, earlier: SampleMark) -> float | None:
    """By how many seconds a capture begins after an earlier one whose samples it holds; ``None``
    where it is another recording.
    """
    if not _enough(mark.words & earlier.words):
        return None
    share, later_s = likeness(mark, earlier)
    return later_s if share >= ALIKE else None


def likeness(mark: SampleMark, earlier: SampleMark) -> tuple[float, float]:
    """How far two marks agree at best (0 to 1), and by how many seconds the later begins after the
    earlier one; twice zero where that is less than `ALIKE`.
    """
    size = fourier_size(len(earlier.states) + len(mark.states))
    product = spectrum_of(earlier, size) * np.conj(spectrum_of(mark, size))
    return best_place(np.fft.irfft(product, size), mark, earlier) or (0.0, 0.0)


def fourier_size(states: int) -> int:
    """Length of a transform that lays two marks with so many states together over each other."""
    return FOURIER_STEP * -(-states // FOURIER_STEP)


def best_place(
    sums: np.ndarray, mark: SampleMark, earlier: SampleMark
) -> tuple[float, float] | None:
    """Share and seconds as ``likeness`` gives them, ``None`` where the share is less than `ALIKE`:
    from the sums of products at each lag, shape (size,), later lags first, then earlier ones.
    """
    a, b, size = len(earlier.states), len(mark.states), len(sums)
    # Sums of whole numbers, which single precision tells apart.
    both = np.abs(np.rint(sums))
    places = np.flatnonzero(both >= ALIKE * LEAST_SHARED)
    lags = np.where(places < a, places, places - size)
    overlap = (lags < a) & (lags > -b)
    places, lags = places[overlap], lags[overlap]
    begin, end = np.maximum(lags, 0), np.minimum(a, lags + b)
    weight = (earlier.off_zero[end] - earlier.off_zero[begin]) * (
        mark.off_zero[end - lags] - mark.off_zero[begin - lags]
    )
    enough = weight >= LEAST_SHARED**2
    if not enough.any():
        return None
    shares = both[places[enough]] / np.sqrt(weight[enough])
    best = int(np.argmax(shares))
    if shares[best] < ALIKE:
        return None
    return float(shares[best]), float(lags[enough][best]) / GRID_HZ


def spectrum_of(mark: SampleMark, size: int) -> np.ndarray:
    """Spectrum of a mark's states in a transform of that length, kept with the mark."""
    if size not in mark.spectra:
        mark.spectra[size] = np.fft.rfft(mark.states.astype(np.float32), size)
    return mark.spectra[size]
