"""Bursts that keep time: what an electronic device sends, and no contact or cable does.

A telephone sends in one slot of a frame of 4.6 ms; other radios keep frames of their own. An
amplifier rectifies that to pulses as regular as a clock. A contact that opens makes two edges, one
that chatters makes many, and none of them at equal times. Mains is regular too, and is what an open
lead brings in: clocks near its harmonics are left to those who judge the hum.
"""

from __future__ import annotations

import numpy as np

from readiness.signal.statistics.robust import median

STANDS_OUT = 4.5
"""Standard deviations: noise passes them once in a hundred thousand samples."""
FRAMES_S = (0.0025, 0.0095)
"""Length of a frame: shorter ones are not passed by the amplifier, longer ones are hum's."""
FEWEST_FRAMES = 8
COMPARED = 3
PARTS, LEAST_PART = 4, 0.08
"""A burst has a like share of its power in each quarter: a jump and what rings after it has not."""
REPEATS = 0.5
"""Correlation of a burst with itself some frames on; noise of the amplifier takes from it what the
pulses leave over. Chatter of a contact stays below 0.2.
"""
FROM_MAINS_HZ = 6.0
FINER = 8
"""A frame is no whole number of samples: the correlation is drawn so much finer than they are."""
BESIDE_S = 0.002

Span = tuple[float, float]


def clocked_spans(abrupt: np.ndarray, rate: float, mains_hz: float) -> tuple[Span, ...]:
    """Start and end in seconds of all bursts that keep time.

    Parameters
    ----------
    abrupt : numpy.ndarray
        Microvolts without movement and mains, shape (n,).
    rate : float
        Samples per second.
    mains_hz : float
        Frequency of the mains.
    """
    sigma = 1.482602 * median(np.abs(abrupt))
    hits = np.flatnonzero(np.abs(abrupt) > STANDS_OUT * max(sigma, 1e-9))
    if not len(hits):
        return ()
    breaks = np.flatnonzero(np.diff(hits) > 2 * FRAMES_S[1] * rate)
    margin = round(BESIDE_S * rate)
    spans = []
    for first, last in zip([hits[0], *hits[breaks + 1]], [*hits[breaks], hits[-1]], strict=True):
        begin, end = max(0, first - margin), min(len(abrupt), last + margin + 1)
        if end - begin < FEWEST_FRAMES * FRAMES_S[0] * rate:
            continue
        if keeps_time(abrupt[begin:end], rate, mains_hz):
            spans.append((begin / rate, end / rate))
    return tuple(spans)


def keeps_time(burst: np.ndarray, rate: float, mains_hz: float) -> bool:
    """Whether a burst repeats itself frame by frame from end to end, at a time that is not the
    mains'.
    """
    burst = burst - burst.mean()
    parts = [float(part @ part) for part in np.array_split(burst, PARTS)]
    if min(parts) < LEAST_PART * sum(parts):
        return False
    # Taking mains out leaves an echo of every jump one period before it and one after.
    length_s = len(burst) / rate - 2 / mains_hz
    longest_s = min(FRAMES_S[1], length_s / FEWEST_FRAMES)
    lags_s, alike = _repeats(burst, rate, longest_s)
    if len(lags_s) < 3:
        return False
    best = int(alike.argmax())
    # A correlation that is highest at an end only falls from there: the ringing of a filter.
    if best in (0, len(lags_s) - 1) or alike[best] < REPEATS:
        return False
    clock_hz = 1 / lags_s[best]
    return bool(abs(clock_hz - round(clock_hz / mains_hz) * mains_hz) > FROM_MAINS_HZ)


def _repeats(burst: np.ndarray, rate: float, longest_s: float) -> tuple[np.ndarray, np.ndarray]:
    """Frame lengths in seconds, and how alike a burst is to itself one to three frames on."""
    size = 1 << (2 * len(burst) - 1).bit_length()
    spectrum = np.fft.rfft(burst, size)
    power = np.zeros(FINER * size // 2 + 1)
    power[: len(spectrum)] = spectrum.real**2 + spectrum.imag**2
    correlation = np.fft.irfft(power)
    first, last = np.rint(np.array((FRAMES_S[0], longest_s)) * FINER * rate).astype(int)
    lags = np.arange(first, last)
    alike = np.zeros(len(lags))
    for number in range(1, COMPARED + 1):
        share = 1 - number * lags / (FINER * len(burst))
        alike += correlation[number * lags] / (share * correlation[0] * COMPARED)
    return lags / (FINER * rate), alike
