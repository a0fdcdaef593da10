"""Whether a trace can be a measurement at all: checked before anything is measured.

Every check returns notes with a finding code; none raises for what is in the samples. Places where
samples lack are NaN (see ``readers.read_capture``) and are left out of the checks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from readiness.signal.capture import Capture, Channel, Note
from readiness.signal.readers.timeline import measure_steps, places
from readiness.signal.statistics.robust import median

from .converter import check_converter
from .rails import check_held, rail_notes, rail_stretches

RATE_TOLERANCE = 0.004
"""Largest relative difference between the stated rate and the time column (measurement.md: 0.4 %).
"""
OFFSET_UV = 100e3
"""On one bar both leads meet the same metal: there is no half-cell voltage between them, and an
amplifier's own offset is a few millivolts. 100 mV is far beyond both, so the input is driven to its
stop (common practice).
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
BOLTZMANN = 1.380649e-23
ROOM_K = 293.15


def check_integrity(capture: Capture) -> tuple[Note, ...]:
    """All that is wrong with a capture before it is measured, beyond the notes its reader already
    made.

    Parameters
    ----------
    capture : Capture
        Its ``notes`` are not repeated here.

    Returns
    -------
    tuple of Note
        Codes ``missing_samples``, ``time_base``, ``dead_channel``, ``saturated``, ``clipped``,
        ``stuck_bits``, ``wrong_scale``; empty for a sound trace. Times count from the start of the
        capture.
    """
    emg = capture.emg
    notes = [*_not_finite(capture), *_time_base(capture)]
    finite = np.isfinite(emg.samples)
    samples = emg.samples
    if not finite.all():
        samples = emg.samples[finite]
        emg = replace(emg, samples=np.where(finite, emg.samples, np.nan))
    if not len(samples):
        return (*notes, Note("dead_channel", f"The channel {emg.label!r} holds no sample."))
    stretches = rail_stretches(emg)
    rails = list(rail_notes(emg, stretches))
    offset = list(_offset(samples, emg, capture.test))
    dead = list(_dead(samples, emg))
    if dead:
        # A trace that stands still at its stop is driven there; elsewhere nothing reaches the
        # converter.
        stopped = [note for note in rails if note.code == "saturated"] or offset
        return (*notes, *(stopped or dead), *_scale(samples, emg))
    notes += rails
    if not any(note.code == "saturated" for note in rails):
        notes += [*offset, *check_held(emg, stretches)]
    notes += check_converter(samples, emg)
    notes += _scale(samples, emg)
    return tuple(notes)


def _not_finite(capture: Capture) -> Iterator[Note]:
    """Samples that are not finite, where the reader told none."""
    if any(note.code == "missing_samples" for note in capture.notes):
        return
    emg = capture.emg
    if np.isfinite(emg.samples).all():
        return
    holes = np.flatnonzero(~np.isfinite(emg.samples))
    start_s, end_s = float(holes[0]) / emg.rate_hz, float(holes[-1] + 1) / emg.rate_hz
    where = places(holes, emg.rate_hz)
    yield Note("missing_samples", f"{len(holes)} samples are not finite, {where}.", start_s, end_s)


def _time_base(capture: Capture) -> Iterator[Note]:
    """What the time channel says: another rate than stated, gaps, times that repeat, run backward
    or are uneven.
    """
    rate = capture.rate_hz
    for channel in capture.channels:
        if channel.role != "time":
            continue
        times = channel.samples
        finite = np.isfinite(times)
        steps = measure_steps(times if finite.all() else times[finite])
        if steps is None:
            yield Note("time_base", f"The times in {channel.label!r} have no steady step.")
            continue
        off = rate / steps.rate_hz - 1.0
        if abs(off) > RATE_TOLERANCE + steps.rate_tolerance:
            text = (
                f"The capture says {rate:g} Hz, its times say {steps.rate_hz:.6g} Hz"
                f" ({100 * off:+.2f} %)."
            )
            yield Note("time_base", text)
        told = any(note.code == "missing_samples" for note in capture.notes)
        if len(steps.gap_after) and finite.all() and not told:
            where = places(steps.gap_after + 1, rate)
            first = float(steps.gap_after[0] + 1) / rate
            yield Note(
                "missing_samples",
                f"{steps.gap_samples.sum()} samples lack by the times, {where}.",
                first,
                first,
            )
        for indices, what in (
            (steps.backward, "run backward"),
            (steps.repeated, "stand still"),
            (steps.uneven, "are uneven"),
        ):
            if len(indices):
                first = float(indices[0] + 1) / rate
                text = f"The times {what} in {len(indices)} place(s): {places(indices + 1, rate)}."
                yield Note("time_base", text, first, first)


def _dead(samples: np.ndarray, emg: Channel) -> Iterator[Note]:
    """Constant, two-valued, and dithering by one code within the converter's own rounding.

    Three neighbouring codes are dead when their spread is below LSB/sqrt(12), the rounding noise of
    the converter (Widrow; Bennett 1948): then whatever stands at the input is less than what cannot
    be told from nothing.
    """
    if len(np.unique(samples[: min(len(samples), 2000)])) > 3:
        return
    values = np.unique(samples)
    told = f"{len(samples)} samples of {emg.label!r}"
    if len(values) == 1:
        yield Note("dead_channel", f"All {told} are {values[0]:.6g} uV: nothing is measured.")
    elif len(values) == 2:
        yield Note(
            "dead_channel",
            f"The {told} take two values only, {values[0]:.6g} and {values[1]:.6g} uV.",
        )
    elif len(values) == 3:
        step = float(np.diff(values).min())
        if float(np.diff(values).max()) < 1.5 * step and float(samples.std()) < step / np.sqrt(
            12.0
        ):
            yield Note(
                "dead_channel",
                f"The {told} dither by one code of {step:.4g} uV: quieter than any real input.",
            )


def _offset(samples: np.ndarray, emg: Channel, test: str | None) -> Iterator[Note]:
    """An input that stands so far off that it must be at its stop, whatever ripple it still
    shows.
    """
    limit = WORN_OFFSET_UV if test == "worn" else OFFSET_UV
    if max(float(samples.max()), -float(samples.min())) <= limit:
        return
    middle = median(samples)
    if limit < abs(middle) <= BEYOND_SUPPLY_UV:
        text = (
            f"The trace of {emg.label!r} stands at {middle / 1e3:.4g} mV: so far off, the input is"
            " at its stop."
        )
        yield Note("saturated", text, 0.0, len(emg.samples) / emg.rate_hz)


def _scale(samples: np.ndarray, emg: Channel) -> Iterator[Note]:
    """Units that cannot be: a span no amplifier has, volts no battery gives, noise below that of
    any source.
    """
    if emg.full_scale is not None and emg.full_scale[1] - emg.full_scale[0] < SMALLEST_SPAN_UV:
        low, high = emg.full_scale
        text = (
            f"A range of {low:.4g} to {high:.4g} uV holds no muscle signal: the unit {emg.unit!r}"
            " is wrong."
        )
        yield Note("wrong_scale", text)
        return
    if emg.resolution is not None and emg.resolution > COARSEST_STEP_UV:
        text = (
            f"Steps of {emg.resolution:.4g} uV cannot show a noise of some microvolts: the unit"
            f" {emg.unit!r} is wrong."
        )
        yield Note("wrong_scale", text)
        return
    largest = max(float(samples.max()), -float(samples.min()))
    if largest > BEYOND_SUPPLY_UV:
        text = (
            f"Readings up to {largest / 1e6:.4g} V cannot come from a kit on two cells: the unit"
            f" {emg.unit!r} is wrong."
        )
        yield Note("wrong_scale", text)
        return
    noise, least = _fast_noise(samples, emg.rate_hz), thermal_noise_uv(emg.rate_hz)
    if 0.0 < noise < least:
        text = (
            f"The trace varies by {noise:.2g} uV from sample to sample, below the thermal noise of"
            f" {QUIETEST_SOURCE_OHM:g} ohm ({least:.2g} uV): the unit {emg.unit!r} is wrong (are"
            " these millivolts?)."
        )
        yield Note("wrong_scale", text)


def thermal_noise_uv(rate_hz: float, ohm: float = QUIETEST_SOURCE_OHM) -> float:
    """Thermal noise of the smallest source resistance over the judged band, microvolts RMS.

    ``sqrt(4 k T R B)`` (Nyquist 1928), B from 20 Hz to min(450 Hz, 0.4 x rate).
    """
    band = min(450.0, 0.4 * rate_hz) - 20.0
    return 1e6 * float(np.sqrt(4.0 * BOLTZMANN * ROOM_K * ohm * max(band, 0.0)))


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
    second = samples[2 * lag :] - 2.0 * samples[lag:-lag] + samples[: -2 * lag]
    size = np.abs(second)
    middle = len(size) // 2
    return float(np.partition(size, middle)[middle] / 0.6745 / np.sqrt(6.0))
