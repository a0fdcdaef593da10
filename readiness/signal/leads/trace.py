"""A capture in time: movement and mains taken out, cut into quarter seconds, ready for the tests to
look at.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from readiness.signal.spectrum.mains import Mains
from readiness.signal.statistics.robust import median, pieces, read_only, row_medians

from .clocked import clocked_spans
from .filters import abrupt_from_hz, axes, comb, responses

SEGMENT_S = 0.25
HOP_S = 0.125
BESIDE_HZ = 2 / SEGMENT_S
SIGMA_SAMPLES = 4000
TINY_UV = 1e-6
"""Least spread of anything: a flat stretch must not make every change infinitely sure."""
EDGE_S = 0.1
"""Left out at both ends: a filter over the whole record wraps round."""


@dataclass(frozen=True, eq=False)
class Trace:
    """Views of one capture, all in microvolts.

    ``x`` as recorded, ``band`` above 20 Hz and ``abrupt`` above ``abrupt_from_hz``, both without
    mains lines, shape (n,); ``combed`` the transform (n // 2 + 1,) both are made of; ``slow`` what
    is slower than 20 Hz, shape (n,), and ``slow_bins`` the lowest bins (m,) of its transform once
    the line from the first sample of ``x`` to the last is taken out. Per segment of ``SEGMENT_S``
    every ``HOP_S`` (shape (s,)): ``start_s``; ``offset``, the mean; ``swing``, the slow peak to
    peak; ``noise``, RMS of ``abrupt``; ``hum`` (s, orders), complex peak amplitudes; ``railed``,
    the share of samples at the ends of the range.
    """

    x: np.ndarray
    rate: float
    combed: np.ndarray
    abrupt: np.ndarray
    slow: np.ndarray
    slow_bins: np.ndarray
    start_s: np.ndarray
    offset: np.ndarray
    swing: np.ndarray
    noise: np.ndarray
    hum: np.ndarray
    hum_u: float
    line_hz: float
    orders: tuple[int, ...]
    railed: np.ndarray

    @cached_property
    def band(self) -> np.ndarray:
        """The capture above 20 Hz without mains lines, shape (n,)."""
        count = len(self.x)
        return np.fft.irfft(self.combed * responses(count, self.rate)[0], count)

    def noise_at_lines(self, inside: np.ndarray) -> np.ndarray:
        """What ``hum_u`` is in some segments, whatever moves there, (orders,): told by what stands
        to either side.

        A steady line does not reach there: it is two bins of a quarter second away, a zero of the
        Hann window. The median over segments lets a step of hum in one of them pass.
        """
        size, hop = round(SEGMENT_S * self.rate), max(1, round(HOP_S * self.rate))
        frames = pieces(self.x, size, hop)[inside]
        if not len(frames):
            return np.zeros(len(self.orders))
        level = frames - frames.mean(axis=1, keepdims=True)
        power = np.abs(level @ self._turns_beside) ** 2
        # The squared amplitude of noise is exponential: its median is ln 2 of its mean.
        both = power.reshape(len(frames), -1, 2).swapaxes(0, 1).reshape(-1, 2 * len(frames))
        return np.sqrt(row_medians(both) / math.log(2))

    @cached_property
    def _turns_beside(self) -> np.ndarray:
        """What leads from a segment to the amplitudes on both sides of each line, (n, 2 orders)."""
        size = round(SEGMENT_S * self.rate)
        beside = np.ravel(
            [(k * self.line_hz - BESIDE_HZ, k * self.line_hz + BESIDE_HZ) for k in self.orders]
        )
        turns = np.exp(-2j * np.pi / self.rate * np.outer(np.arange(size), beside))
        return turns * _hann(size)[:, None]

    @cached_property
    def clocked(self) -> tuple[tuple[float, float], ...]:
        """Start and end in seconds of the bursts that keep time, as a phone's do."""
        return clocked_spans(self.abrupt, self.rate, self.line_hz)

    @cached_property
    def hum_size(self) -> np.ndarray:
        """Length of the hum vector of each segment, shape (s,)."""
        return np.linalg.norm(self.hum, axis=1)

    @cached_property
    def local_sigma(self) -> np.ndarray:
        """Robust spread of ``abrupt`` in the 0.85 s round each twentieth of a second, spread over
        samples, shape (n,).

        A hum that sways with a moving cable lifts it for as long as it sways; a contact that opens
        lifts two moments.
        """
        size = max(1, round(0.05 * self.rate))
        blocks = len(self.abrupt) // size
        medians = row_medians(np.abs(self.abrupt[: blocks * size]).reshape(blocks, size))
        padded = medians
        if blocks > 8:  # mirrored at both ends
            padded = np.concatenate((medians[8:0:-1], medians, medians[-2:-10:-1]))
        middle = row_medians(pieces(padded, min(17, len(padded)), 1))
        spread = 1.482602 * np.repeat(middle[:blocks], size)
        return np.concatenate([spread, np.full(len(self.abrupt) - len(spread), spread[-1])])

    @cached_property
    def bandwidth_hz(self) -> float:
        """Equivalent width of the noise in ``abrupt``, from its still part: (sum P)^2 / sum P^2.

        A periodogram's bins scatter like exponentials, which doubles the sum of squares.
        """
        still = self.part(self.abrupt, EDGE_S, 2.0)
        power, squares = power_sums(still - still.mean())
        return 2 * power**2 / squares * self.rate / len(still) if squares > 0 else self.rate / 4

    def part(self, values: np.ndarray, start_s: float, end_s: float) -> np.ndarray:
        """Samples of ``values`` between two times."""
        return values[max(0, round(start_s * self.rate)) : round(end_s * self.rate)]

    def segments(self, start_s: float, end_s: float) -> np.ndarray:
        """Indices of the segments that lie wholly between two times."""
        return _segments(len(self.start_s), self.rate, start_s, end_s)

    @cached_property
    def hum_rms(self) -> np.ndarray:
        """RMS of all fitted harmonics per segment, shape (s,)."""
        return np.sqrt(np.sum(np.abs(self.hum) ** 2, axis=1) / 2)


@lru_cache(maxsize=64)
def _starts_s(count: int, rate: float) -> np.ndarray:
    """When each segment begins."""
    return read_only(np.arange(count) * max(1, round(HOP_S * rate)) / rate)


@lru_cache(maxsize=64)
def _segments(count: int, rate: float, start_s: float, end_s: float) -> np.ndarray:
    """Which of ``count`` segments lie wholly between two times."""
    starts_s = _starts_s(count, rate)
    inside = (starts_s >= start_s - 1e-9) & (starts_s + SEGMENT_S <= end_s + 1e-9)
    return read_only(np.flatnonzero(inside))


def power_sums(values: np.ndarray) -> tuple[float, float]:
    """Sums of a periodogram's bins and of their squares, shape (n // 2 + 1,), of values without a
    mean.

    By Parseval from the circular autocorrelation: a transform of ``n`` itself takes five times as
    long where ``n`` has a large prime factor.
    """
    count = len(values)
    size = 1 << (2 * count - 1).bit_length()
    bins = np.fft.rfft(values, size)
    lagged = np.fft.irfft(bins.real**2 + bins.imag**2, size)[:count]
    around = lagged.copy()
    around[1:] += lagged[:0:-1]
    highest = float(values[::2].sum() - values[1::2].sum()) ** 2 if count % 2 == 0 else 0.0
    power, squares = count * float(lagged[0]), count * float(around @ around)
    return (power + highest) / 2, (squares + highest**2) / 2


def robust_sigma(values: np.ndarray) -> float:
    """Standard deviation of Gaussian noise from the median absolute deviation (factor 1.482602),
    blind to events.

    Of a long series an evenly spaced part of some thousands is taken: it gives the figure to 2 %.
    """
    if not len(values):
        return math.nan
    part = values[:: max(1, len(values) // SIGMA_SAMPLES)]
    return 1.482602 * median(np.abs(part - median(part)))


def trace_of(
    x: np.ndarray, rate: float, mains: Mains, rails: tuple[float, float] | None = None
) -> Trace:
    """Filter and cut a capture.

    Parameters
    ----------
    x : numpy.ndarray
        Microvolts, shape (n,), finite.
    rate : float
        Samples per second.
    mains : Mains
        From ``find_mains``; its lines are left out of ``band`` and ``abrupt``.
    rails : tuple of float or None
        Ends of the range, in microvolts, where known.
    """
    count = len(x)
    places, _ = axes(count, rate)
    ramp = places * ((x[-1] - x[0]) / max(1, count - 1))
    ramp += x[0]
    spectrum = np.fft.rfft(x - ramp)
    combed = spectrum * comb(count, rate, mains)
    _, sharp, slowly = responses(count, rate)
    abrupt = np.fft.irfft(combed * sharp, count)
    size, hop = round(SEGMENT_S * rate), max(1, round(HOP_S * rate))
    parts = pieces(x, size, hop)
    hum, hum_u = _hum(x, rate, mains, size, hop, robust_sigma(abrupt))
    slow_bins = spectrum[: np.count_nonzero(slowly)] * slowly[slowly > 0]
    ramp += np.fft.irfft(slow_bins, count)
    slow = pieces(ramp, size, hop)
    swing = slow.max(axis=1) - slow.min(axis=1)
    if len(swing) > 2:  # the record's two ends meet in the filter
        swing[0], swing[-1] = swing[1], swing[-2]
    return Trace(
        x=x,
        rate=rate,
        combed=combed,
        abrupt=abrupt,
        slow=ramp,
        slow_bins=slow_bins,
        start_s=_starts_s(len(parts), rate),
        offset=parts.mean(axis=1),
        swing=swing,
        noise=np.sqrt(pieces(abrupt * abrupt, size, hop).mean(axis=1)),
        hum=hum,
        hum_u=hum_u,
        line_hz=mains.frequency_hz,
        orders=_hum_orders(mains, rate),
        railed=_railed(x, size, hop, rails),
    )


def _hum_orders(mains: Mains, rate: float) -> tuple[int, ...]:
    return tuple(k for k in (1, 3, 5) if k * mains.frequency_hz < 0.45 * rate) or (1,)


def _hum(
    x: np.ndarray, rate: float, mains: Mains, size: int, hop: int, sigma: float
) -> tuple[np.ndarray, float]:
    """Complex peak amplitude of the first odd harmonics in every segment, Hann weighted, and its
    standard deviation.

    A Hann-weighted amplitude of white noise has variance 4 sigma^2 (3/2) / n.
    """
    orders = np.array(_hum_orders(mains, rate))
    window = _hann(size)
    step = -2j * np.pi * mains.frequency_hz / rate
    turns = np.exp(step * np.outer(np.arange(size), orders)) * window[:, None]
    # One product of real rows with cosines and sines; each segment's own start turns its phase back
    # to the record's.
    frames = pieces(x - x.mean(), size, hop) @ np.hstack([turns.real, turns.imag])
    hum = frames[:, : len(orders)] + 1j * frames[:, len(orders) :]
    hum *= np.exp(step * hop * np.outer(np.arange(len(frames)), orders))
    corner = abrupt_from_hz(rate)
    white = sigma / math.sqrt(1.5 * max(0.1, 1 - 2 * corner / rate))
    u = max(white * math.sqrt(6 / size), TINY_UV)
    drift = _phase_step(hum[:, 0], u)
    return hum * np.exp(-1j * drift * np.outer(np.arange(len(hum)), orders)), u


@lru_cache(maxsize=8)
def _hann(size: int) -> np.ndarray:
    """Hann weights that sum to two: a sine's peak amplitude is its weighted mean."""
    window = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(size) / size)
    return read_only(2 * window / window.sum())


def _phase_step(hum: np.ndarray, u: float) -> float:
    """Median phase step of the fundamental from segment to segment, weighted by how clear it
    stands.

    A fit over a record in which leads come and go is off by hundredths of a hertz; steps within one
    state are not.
    """
    steps = np.angle(hum[1:] * np.conj(hum[:-1]))
    weights = np.minimum(np.minimum(np.abs(hum[1:]), np.abs(hum[:-1])) / max(u, 1e-12), 100.0)
    order = np.argsort(steps)
    cumulative = np.cumsum(weights[order])
    return (
        float(steps[order][np.searchsorted(cumulative, cumulative[-1] / 2)]) if len(steps) else 0.0
    )


def _railed(x: np.ndarray, size: int, hop: int, rails: tuple[float, float] | None) -> np.ndarray:
    count = (len(x) - size) // hop + 1
    if rails is None:
        return np.zeros(count)
    margin = 1e-3 * (rails[1] - rails[0])
    low, high = rails[0] + margin, rails[1] - margin
    if x.min() > low and x.max() < high:
        return np.zeros(count)
    return pieces((x <= low) | (x >= high), size, hop).mean(axis=1)
