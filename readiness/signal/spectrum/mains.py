"""The mains line and its harmonics: found, fitted by least squares, and taken out of the
spectrum.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from readiness.signal.statistics.robust import median, read_only

from .line_search import SEARCH_HZ, STANDS_OUT, alias_hz, peaks

NOMINAL_HZ = (50.0, 60.0)
SURE_HZ = 0.04
"""A line that stands out of ten seconds of noise is placed that well, four standard deviations."""
OFF_PLACE_HZ = 0.8
"""Lines so near to nominal are found by the search itself, whose edge bins reach so far."""
TIME_BASE_HZ = 3.0
"""How far from nominal a stray line is still taken for the mains seen through a wrong sampling rate
(5 to 6 %).
"""


@dataclass(frozen=True)
class SineFit:
    """Sines at multiples of one frequency: amplitudes in the unit of the data, frequency in Hz,
    residual RMS.
    """

    frequency_hz: float
    frequency_u_hz: float
    orders: tuple[int, ...]
    cosines: tuple[float, ...]
    sines: tuple[float, ...]
    offset: float
    residual_rms: float
    amplitude_u: float

    @property
    def amplitudes(self) -> tuple[float, ...]:
        """Peak amplitude of each order."""
        return tuple(math.hypot(a, b) for a, b in zip(self.cosines, self.sines, strict=True))


@dataclass(frozen=True)
class Mains:
    """The mains as a capture shows it.

    ``frequency_hz`` is the fitted fundamental (the nominal one where nothing stands out);
    ``lines_hz`` every harmonic, aliases included, that must be kept out of the noise; ``rms_uv``
    and ``u_uv`` the whole amplitude and its uncertainty; ``stray_hz`` a mains-like line off its
    place, where there is one.
    """

    nominal_hz: float
    frequency_hz: float
    present: bool
    rms_uv: float
    u_uv: float
    lines_hz: tuple[float, ...]
    harmonics: tuple[tuple[int, float, float], ...]
    stray_hz: float | None


def fit_sines(
    samples: np.ndarray,
    rate: float,
    start_hz: float,
    orders: tuple[int, ...] = (1,),
    passes: int = 4,
    free: bool = True,
) -> SineFit:
    """Least-squares fit of sines at multiples of one free frequency (IEEE Std 1057, four-parameter
    fit).

    Parameters
    ----------
    samples : numpy.ndarray
        Shape (n,), any unit.
    rate, start_hz : float
        Samples per second; frequency to start from, within about 1 / (2 T) of the truth.
    orders : tuple of int
        Which multiples are fitted together.
    passes : int
        Gauss-Newton steps on the frequency.
    free : bool
        False keeps the frequency (three-parameter fit).
    """
    count = len(samples)
    t = (np.arange(count) - (count - 1) / 2) / rate
    frequency = start_hz
    for step in range(passes if free else 1):
        turn = np.exp(2j * np.pi * frequency * t)
        powers = [turn**k for k in orders]
        columns = [np.ones(count), *(p.real for p in powers), *(p.imag for p in powers)]
        solution = _solve(np.stack(columns), samples)
        n = len(orders)
        a, b = solution[1 : n + 1], solution[n + 1 :]
        if not free or step == passes - 1:
            break
        slope = sum(
            2 * np.pi * k * t * (b[i] * powers[i].real - a[i] * powers[i].imag)
            for i, k in enumerate(orders)
        )
        change = _solve(np.stack([*columns, slope]), samples)[-1]
        frequency += float(np.clip(change, -SEARCH_HZ, SEARCH_HZ))
    residual = samples - solution @ np.stack(columns)
    rms = float(np.sqrt(np.mean(residual**2)))
    pull = sum((k * k) * (a[i] ** 2 + b[i] ** 2) for i, k in enumerate(orders))
    duration = count / rate
    frequency_u = (
        math.sqrt(24 / pull / count) * rms / (2 * np.pi * duration) if pull > 0 else math.inf
    )
    # The record's centre was the phase origin of the fit; people expect its first sample.
    shift = np.exp(-2j * np.pi * frequency * np.array(orders) * t[0])
    first = (a + 1j * b) * shift
    return SineFit(
        frequency_hz=float(frequency),
        frequency_u_hz=frequency_u,
        orders=orders,
        cosines=tuple(first.real.tolist()),
        sines=tuple(first.imag.tolist()),
        offset=float(solution[0]),
        residual_rms=rms,
        amplitude_u=rms * math.sqrt(2 / count),
    )


def find_mains(samples: np.ndarray, rate: float, declared_hz: float | None = None) -> Mains:
    """Find the mains in a capture, whatever frequency was declared.

    Parameters
    ----------
    samples : numpy.ndarray
        Microvolts, shape (n,).
    rate : float
        Samples per second.
    declared_hz : float or None
        50 or 60 where somebody said so; believed only when no line stands out.
    """
    count = len(samples)
    centred = samples - samples.mean()
    centred *= hann(count)
    bins = np.fft.rfft(centred)
    power = bins.real**2
    power += bins.imag**2
    power *= 2 / (3 / 8 * count * count)
    step = rate / count
    lines_of = {nominal: peaks(power, count, rate, nominal) for nominal in NOMINAL_HZ}
    # Aliases of 50 Hz orders fall on aliases of 60 Hz orders: only lines below half the rate speak
    # for a frequency.
    strength = {
        f: sum(line[1] for line in nominal_lines if line[0] * f < rate / 2)
        for f, nominal_lines in lines_of.items()
    }
    nominal = max(NOMINAL_HZ, key=lambda f: (strength[f], f == declared_hz))
    lines = lines_of[nominal] if strength[nominal] > 0 else []
    if not lines:
        orders = _orders_below(nominal, rate)
        lines_hz = tuple(alias_hz(nominal * orders, rate).tolist())
        stray = _stray(power, step, rate)
        return Mains(
            nominal, nominal, False, 0.0, _line_u(power, step, nominal), lines_hz, (), stray
        )
    frequency = _frequency(power, step, rate, nominal, lines)
    present = [order for order, _ in lines]
    off_place = _off_place(power, step, nominal) if 1 in present else _stray(power, step, rate)
    every = sorted(set(_orders_below(nominal, rate).tolist()) | set(present))
    harmonics = tuple((k, float(alias_hz(k * frequency, rate)), math.sqrt(2 * p)) for k, p in lines)
    return Mains(
        nominal_hz=nominal,
        frequency_hz=frequency,
        present=True,
        rms_uv=math.sqrt(sum(p for _, p in lines)),
        u_uv=_line_u(power, step, nominal),
        lines_hz=tuple(float(alias_hz(k * frequency, rate)) for k in every),
        harmonics=harmonics,
        stray_hz=off_place,
    )


def _solve(rows: np.ndarray, samples: np.ndarray) -> np.ndarray:
    """Normal equations with rows scaled to unit length: the sines of a ten-second record are near
    orthogonal.
    """
    scale = np.sqrt(np.einsum("ij,ij->i", rows, rows))
    scale[scale == 0] = 1
    unit = rows / scale[:, None]
    return np.linalg.lstsq(unit @ unit.T, unit @ samples, rcond=None)[0] / scale


def _orders_below(nominal: float, rate: float) -> np.ndarray:
    return np.arange(1, max(1, int(0.5 * rate / nominal)) + 1)


@lru_cache(maxsize=8)
def hann(count: int) -> np.ndarray:
    """Hann window of a record, shape (count,); kept, for captures come in like lengths."""
    return read_only(0.5 - 0.5 * np.cos(2 * np.pi * np.arange(count) / count))


def _frequency(
    power: np.ndarray, step: float, rate: float, nominal: float, lines: list[tuple[int, float]]
) -> float:
    """The fundamental from the strongest lines below half the rate: their mean, by the precision of
    each.

    Read off between two bins it has in noise twice the scatter of ``fit_sines``, at a hundredth of
    the time. The k-th harmonic fixes the fundamental k times as well.
    """
    direct = sorted(
        (line for line in lines if line[0] * nominal + 3 < rate / 2),
        key=lambda line: -line[1] * line[0] ** 2,
    )
    if not direct:
        return nominal
    total = weights = 0.0
    for order, line in direct[:3]:
        low, high = (
            int(order * (nominal - SEARCH_HZ) / step),
            int(order * (nominal + SEARCH_HZ) / step) + 2,
        )
        top = low + int(np.argmax(power[low:high]))
        weight = line * order**2
        total += weight * _between_bins(power, top) * step / order
        weights += weight
    return float(np.clip(total / weights, nominal - 0.6, nominal + 0.6))


def _off_place(power: np.ndarray, step: float, nominal: float) -> float | None:
    """Where the fundamental stands, where that is beyond what a public grid is ever off."""
    low, high = int((nominal - OFF_PLACE_HZ) / step), int((nominal + OFF_PLACE_HZ) / step) + 2
    frequency = _between_bins(power, low + int(np.argmax(power[low:high]))) * step
    return float(frequency) if abs(frequency - nominal) > SEARCH_HZ + SURE_HZ else None


def _between_bins(power: np.ndarray, top: int) -> float:
    """The place of a Hann-windowed sine whose highest bin is ``top``, in bins.

    Its two highest bins divide as (2d - 1)/(d + 1), which is solved for the offset d: exact for
    one sine.
    """
    if power[top] <= 0:
        return float(top)
    left, right = power[top - 1], power[top + 1] if top + 1 < len(power) else 0.0
    ratio = math.sqrt(max(left, right) / power[top])
    return top + (2 * ratio - 1) / (1 + ratio) * (1 if right > left else -1)


def _line_u(power: np.ndarray, step: float, nominal: float) -> float:
    """Noise of a line's RMS amplitude: the neighbours' mean square in one bin of the whole
    record.
    """
    low, high = int((nominal - 8) / step), int((nominal + 8) / step)
    return math.sqrt(median(power[max(0, low) : high]) / math.log(2))


def _stray(power: np.ndarray, step: float, rate: float) -> float | None:
    """A narrow line near, but off, 50 or 60 Hz, with at least one harmonic to show that it is a
    mains line.
    """
    for nominal in NOMINAL_HZ:
        low, high = int((nominal - TIME_BASE_HZ) / step), int((nominal + TIME_BASE_HZ) / step)
        part = power[low:high]
        level = median(part) / math.log(2)
        top = int(np.argmax(part))
        frequency = _between_bins(power, low + top) * step
        if part[top] < 40 * level or abs(frequency - nominal) < SEARCH_HZ + SURE_HZ:
            continue
        others = [frequency * k for k in (2, 3, 4, 5, 7) if frequency * k < 0.48 * rate]
        if part[top] > 400 * level or any(_stands_out(power, step, f) for f in others):
            return float(frequency)
    return None


def _stands_out(power: np.ndarray, step: float, frequency: float) -> bool:
    middle = round(frequency / step)
    near = power[middle - 5 : middle + 6]
    around = power[max(0, middle - 60) : middle + 60]
    return len(near) > 0 and near.max() > STANDS_OUT * median(around) / math.log(2)
