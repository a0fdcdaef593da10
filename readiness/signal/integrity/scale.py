"""Values that no kit can give: an input at its stop, and a unit that must be wrong."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from readiness.signal.capture import Channel, Note
from readiness.signal.catalogue import CATALOGUE
from readiness.signal.statistics.robust import median

OFFSET_UV = 100e3
"""On one bar both leads meet the same metal: there is no half-cell voltage between them, and an
amplifier's own offset is a few millivolts. 100 mV is far beyond both, so a silent input there is
driven to its stop (common practice).
"""
LIVE_NV = 8.0
"""Noise per root hertz of the quietest amplifiers for muscles (common practice). A stage at its
stop passes a few per cent of its own; a trace that has this much beside an offset is not at one.
"""
WORN_OFFSET_UV = 300e3
"""On skin two electrodes may differ by up to 300 mV (the offset amplifiers are commonly made to
bear; from memory).
"""
BEYOND_SUPPLY_UV = 10e6
"""No voltage of a kit that runs on two cells is beyond 10 V: the unit is wrong."""
SMALLEST_SPAN_UV = 50.0
"""A converter whose whole span is less could not hold a muscle's signal of some millivolts: the
unit is wrong.
"""
COARSEST_STEP_UV = 25.0
"""A converter step above this hides a noise limit of a few microvolts altogether (common practice):
12 bits over +-10 mV are steps of 4.9 uV.
"""
QUIETEST_SOURCE_OHM = 100.0
"""No source of a kit is below this; its thermal noise bounds what a trace in microvolts can be
(Nyquist 1928).
"""
PIECE_S = 0.5
BOLTZMANN = 1.380649e-23
ROOM_K = 293.15


def check_offset(samples: np.ndarray, emg: Channel, test: str | None) -> Iterator[Note]:
    """An input that stands so far off, and so silent, that it must be at its stop
    (``saturated``). ``samples`` as for ``check_scale``.

    On a bar a trace that lives beside its offset is left to the bench tests, which say how large
    the offset is and judge what varies. Skin gives no such offset to a live input.
    """
    kind = CATALOGUE.get(test) if test else None
    worn = kind is not None and kind.worn
    limit = WORN_OFFSET_UV if worn else OFFSET_UV
    if _largest(samples) <= limit or (not worn and _is_live(samples, emg.rate_hz)):
        return
    middle = median(samples)
    if limit < abs(middle) <= BEYOND_SUPPLY_UV:
        text = (
            f"The trace of {emg.label!r} rests on a constant offset of {middle / 1e3:.4g} mV: so"
            " far off, the input is at its stop."
        )
        yield Note("saturated", text, 0.0, len(emg.samples) / emg.rate_hz)


def check_scale(samples: np.ndarray, emg: Channel) -> Iterator[Note]:
    """Units that cannot be (``wrong_scale``): a span no amplifier has, volts no battery gives,
    noise below that of any source.

    Parameters
    ----------
    samples : numpy.ndarray
        Shape (n,), n > 0, microvolts, finite.
    emg : Channel
        Where they come from, for the declared unit, resolution and range.
    """
    text = (
        _span_too_small(emg)
        or _steps_too_coarse(emg)
        or _beyond_supply(samples, emg)
        or _quieter_than_any_source(samples, emg)
    )
    if text:
        yield Note("wrong_scale", text)


def _is_live(samples: np.ndarray, rate_hz: float) -> bool:
    band = min(450.0, 0.4 * rate_hz) - 20.0
    return _fast_noise(samples, rate_hz) > 1e-3 * LIVE_NV * float(np.sqrt(max(band, 0.0)))


def thermal_noise_uv(rate_hz: float, ohm: float = QUIETEST_SOURCE_OHM) -> float:
    """Thermal noise of the smallest source resistance over the judged band, microvolts RMS.

    ``sqrt(4 k T R B)`` (Nyquist 1928), B from 20 Hz to min(450 Hz, 0.4 x rate).
    """
    band = min(450.0, 0.4 * rate_hz) - 20.0
    return 1e6 * float(np.sqrt(4.0 * BOLTZMANN * ROOM_K * ohm * max(band, 0.0)))


def _span_too_small(emg: Channel) -> str:
    if emg.full_scale is None:
        return ""
    low, high = emg.full_scale
    if high - low >= SMALLEST_SPAN_UV:
        return ""
    return (
        f"A range of {low:.4g} to {high:.4g} uV holds no muscle signal: the unit {emg.unit!r} is"
        " wrong."
    )


def _steps_too_coarse(emg: Channel) -> str:
    if emg.resolution is None or emg.resolution <= COARSEST_STEP_UV:
        return ""
    return (
        f"Steps of {emg.resolution:.4g} uV cannot show a noise of some microvolts: the unit"
        f" {emg.unit!r} is wrong."
    )


def _beyond_supply(samples: np.ndarray, emg: Channel) -> str:
    largest = _largest(samples)
    if largest <= BEYOND_SUPPLY_UV:
        return ""
    return (
        f"Readings up to {largest / 1e6:.4g} V cannot come from a kit on two cells: the unit"
        f" {emg.unit!r} is wrong."
    )


def _quieter_than_any_source(samples: np.ndarray, emg: Channel) -> str:
    noise, least = _fast_noise(samples, emg.rate_hz), thermal_noise_uv(emg.rate_hz)
    if not 0.0 < noise < least:
        return ""
    return (
        f"The trace varies by {noise:.2g} uV from sample to sample, below the thermal noise of"
        f" {QUIETEST_SOURCE_OHM:g} ohm ({least:.2g} uV): the unit {emg.unit!r} is wrong (are these"
        " millivolts?)."
    )


def _largest(samples: np.ndarray) -> float:
    return max(float(samples.max()), -float(samples.min()))


def _fast_noise(samples: np.ndarray, rate_hz: float) -> float:
    """Robust spread of second differences, microvolts: hum and drift cancel, white noise keeps its
    RMS.

    Differences are taken over about half a millisecond, so that a band limit well below the rate
    does not hide noise. White noise of RMS s has second differences of RMS s x sqrt(6); the median
    of their size is 0.6745 of it.
    """
    lag = max(1, round(rate_hz / 2000.0))
    if len(samples) <= 2 * lag:
        return 0.0
    second = np.abs(samples[2 * lag :] - 2.0 * samples[lag:-lag] + samples[: -2 * lag])
    # The loudest half second speaks: a lead lifted for most of a test may hold a stage at its stop.
    count = max(1, int(len(second) / rate_hz / PIECE_S))
    size, longer = divmod(len(second), count)
    first = longer * (size + 1)
    pieces = second[:first].reshape(longer, size + 1), second[first:].reshape(-1, size)
    highest = max(_highest_median(rows) for rows in pieces if len(rows))
    return highest / 0.6745 / float(np.sqrt(6.0))


def _highest_median(rows: np.ndarray) -> float:
    middle = rows.shape[1] // 2
    return float(np.partition(rows, middle, axis=1)[:, middle].max())
