"""What programs and mix-ups make of a raw capture: each way by name, as a function of samples and
rate. The results are rounded to a hundredth of a microvolt, as an export writes them.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import numpy as np
from scipy.ndimage import gaussian_filter1d, median_filter, uniform_filter1d
from scipy.signal import butter, filtfilt, iirnotch, resample, savgol_filter, sosfilt, sosfiltfilt

Spoiler = Callable[[np.ndarray, float], np.ndarray]


def rectified(x: np.ndarray, rate: float, shift: float = 0.0) -> np.ndarray:
    """Full-wave, the offset taken out before and, where asked for, after."""
    y = np.abs(x - np.median(x))
    return y - shift * y.mean()


def half_wave(x: np.ndarray, rate: float) -> np.ndarray:
    return np.maximum(x - np.median(x), 0.0)


def envelope(x: np.ndarray, rate: float, hz: float = 6.0) -> np.ndarray:
    sos = butter(2, hz, fs=rate, output="sos")
    return np.maximum(sosfiltfilt(sos, np.abs(x - np.median(x))), 0.0)


def rms_envelope(x: np.ndarray, rate: float, seconds: float = 0.05) -> np.ndarray:
    size = round(seconds * rate)
    return np.sqrt(uniform_filter1d((x - np.median(x)) ** 2, size))


def filtered(
    x: np.ndarray, rate: float, band: tuple[float, ...], order: int = 4, twice: bool = True
) -> np.ndarray:
    """A pass band of two corners; below the first of one, above the second of ``(0, hz)``."""
    nyquist = 0.499 * rate
    if len(band) == 1:
        kind, corners = "low", min(band[0], nyquist)
    elif band[0] == 0:
        kind, corners = "high", band[1]
    elif band[1] >= nyquist:
        kind, corners = "high", band[0]
    else:
        kind, corners = "band", band
    sos = butter(order, corners, kind, fs=rate, output="sos")
    return (sosfiltfilt if twice else sosfilt)(sos, x)


def brick_wall(x: np.ndarray, rate: float, low: float, high: float) -> np.ndarray:
    bins = np.fft.rfft(x)
    hz = np.fft.rfftfreq(len(x), 1 / rate)
    bins[(hz < low) | (hz > high)] = 0
    return np.fft.irfft(bins, len(x))


def notched(x: np.ndarray, rate: float, q: float = 30.0, harmonics: int = 1) -> np.ndarray:
    for order in range(1, harmonics + 1):
        if 50.0 * order < 0.48 * rate:
            x = filtfilt(*iirnotch(50.0 * order, q, rate), x)
    return x


def from_lower_rate(x: np.ndarray, rate: float, factor: int, way: str) -> np.ndarray:
    """Every so many samples kept, after a filter against aliases, and the rest made up."""
    sos = butter(8, 0.8 / factor, output="sos")
    few = sosfiltfilt(sos, x)[::factor]
    at, every = np.arange(len(few)) * factor, np.arange(len(x))
    if way == "hold":
        return np.repeat(few, factor)[: len(x)]
    if way == "linear":
        return np.interp(every, at, few)
    if way == "sines":
        return resample(few, len(few) * factor)[: len(x)]
    from scipy.interpolate import CubicSpline

    return CubicSpline(at, few)(every)


def repeated(x: np.ndarray, rate: float, size: int, times: int) -> np.ndarray:
    """The first piece again and again, or each piece so many times."""
    if times == 0:
        return np.tile(x[:size], len(x) // size + 1)[: len(x)]
    pieces = x[: len(x) // size * size].reshape(-1, size)
    return np.repeat(pieces, times, axis=0).ravel()[: len(x)]


def doubled_buffers(x: np.ndarray, rate: float, size: int = 64, places: int = 3) -> np.ndarray:
    """Some buffers come twice, in place of the one that should follow."""
    y = x.copy()
    for place in np.linspace(0.15, 0.9, places):
        at = int(place * len(x))
        y[at : at + size] = y[at - size : at]
    return y


def held(x: np.ndarray, rate: float, seconds: float = 0.12, places: int = 4) -> np.ndarray:
    """The last value stands while packets lack."""
    y = x.copy()
    for place in np.linspace(0.12, 0.92, places):
        at = int(place * len(x))
        y[at : at + round(seconds * rate)] = y[at]
    return y


WAYS: dict[str, Spoiler] = {
    "rectified": rectified,
    "rectified, mean out": partial(rectified, shift=1.0),
    "rectified, negative": lambda x, rate: -rectified(x, rate),
    "half wave": half_wave,
    "envelope 3 Hz": partial(envelope, hz=3.0),
    "envelope 6 Hz": envelope,
    "envelope 20 Hz": partial(envelope, hz=20.0),
    "rms 20 ms": partial(rms_envelope, seconds=0.02),
    "rms 50 ms": rms_envelope,
    "rms 100 ms": partial(rms_envelope, seconds=0.1),
    "band 100-200": partial(filtered, band=(100.0, 200.0)),
    "band 100-200, once": partial(filtered, band=(100.0, 200.0), twice=False),
    "band 100-200, order 2": partial(filtered, band=(100.0, 200.0), order=2, twice=False),
    "band 100-200, brick": partial(brick_wall, low=100.0, high=200.0),
    "below 100": partial(filtered, band=(100.0,)),
    "below 100, once": partial(filtered, band=(100.0,), twice=False),
    "below 60": partial(filtered, band=(60.0,)),
    "below 80, order 2": partial(filtered, band=(80.0,), order=2),
    "above 100": partial(filtered, band=(0.0, 100.0)),
    "above 100, once": partial(filtered, band=(0.0, 100.0), twice=False),
    "band 30-60": partial(filtered, band=(30.0, 60.0)),
    "mean of 3": lambda x, rate: uniform_filter1d(x, 3),
    "mean of 5": lambda x, rate: uniform_filter1d(x, 5),
    "mean of 10": lambda x, rate: uniform_filter1d(x, 10),
    "mean of 25": lambda x, rate: uniform_filter1d(x, 25),
    "bell 1": lambda x, rate: gaussian_filter1d(x, 1.0),
    "bell 2": lambda x, rate: gaussian_filter1d(x, 2.0),
    "binomial": lambda x, rate: np.convolve(x, [0.25, 0.5, 0.25], "same"),
    "polynomial 7, 2": lambda x, rate: savgol_filter(x, 7, 2),
    "polynomial 15, 3": lambda x, rate: savgol_filter(x, 15, 3),
    "median of 3": lambda x, rate: median_filter(x, 3),
    "median of 5": lambda x, rate: median_filter(x, 5),
    "quarter rate, linear": partial(from_lower_rate, factor=4, way="linear"),
    "quarter rate, cubic": partial(from_lower_rate, factor=4, way="cubic"),
    "quarter rate, sines": partial(from_lower_rate, factor=4, way="sines"),
    "quarter rate, hold": partial(from_lower_rate, factor=4, way="hold"),
    "half rate, linear": partial(from_lower_rate, factor=2, way="linear"),
    "half rate, hold": partial(from_lower_rate, factor=2, way="hold"),
    "notch, narrow": notched,
    "notch": partial(notched, q=10.0),
    "notch, wide": partial(notched, q=4.0),
    "notch of all orders": partial(notched, q=20.0, harmonics=8),
    "one second ten times": lambda x, rate: repeated(x, rate, round(rate), 0),
    "64 samples all along": lambda x, rate: repeated(x, rate, 64, 0),
    "each 64 twice": lambda x, rate: repeated(x, rate, 64, 2),
    "three buffers twice": doubled_buffers,
    "held for packets": held,
    "held shortly": partial(held, seconds=0.03, places=8),
}
"""Each way by its name."""


def spoil(name: str, x: np.ndarray, rate: float) -> np.ndarray:
    """Samples as an export writes them after that."""
    return np.round(WAYS[name](np.asarray(x, dtype=float), rate), 2)
