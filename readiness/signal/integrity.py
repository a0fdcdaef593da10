"""Whether a trace can be a measurement at all: checked before anything is measured.

Every check returns notes with a finding code; none raises for what is in the samples. Places where samples lack are
NaN (see ``readers.read_capture``) and are left out of the checks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from .capture import Capture, Channel, Note
from .converter import check_converter
from .readers.timeline import measure_steps, places

RATE_TOLERANCE = 0.004
"""Largest relative difference between the stated rate and the time column (measurement.md: 0.4 %)."""
STUCK_S = 0.25
"""A trace that holds one value so long has stopped: a converter that runs changes its last bit (common practice)."""
SATURATED_S = 0.5
"""At the rails so long, and for half of the stretch or more, a trace is saturated, else clipped (common practice)."""
FEWEST_AT_RAIL = 4
"""Fewer samples at an end show no rail: some programs set a file's range to the extremes of its own trace."""
JOIN_S = 0.1
"""Stays at a rail nearer to each other than this are told as one."""
OFFSET_UV = 100e3
"""On one bar both leads meet the same metal: there is no half-cell voltage between them, and an amplifier's own offset
is a few millivolts. 100 mV is far beyond both, so the input is driven to its stop (common practice)."""
WORN_OFFSET_UV = 300e3
"""On skin two electrodes may differ by up to 300 mV (the offset amplifiers are commonly made to bear; from memory)."""
BEYOND_SUPPLY_UV = 10e6
"""No voltage of a kit that runs on two cells is beyond 10 V: the unit is wrong."""
SMALLEST_SPAN_UV = 50.0
"""A converter whose whole span is less could not hold a muscle's signal of some millivolts: the unit is wrong."""
COARSEST_STEP_UV = 25.0
"""A converter step above this hides a noise limit of a few microvolts altogether (common practice): 12 bits over
+-10 mV are steps of 4.9 uV."""
QUIETEST_SOURCE_OHM = 100.0
"""No source of a kit is below this; its thermal noise bounds what a trace in microvolts can be (Nyquist 1928)."""
BOLTZMANN = 1.380649e-23
ROOM_K = 293.15
PLACES_TOLD = 5


def check_integrity(capture: Capture) -> tuple[Note, ...]:
    """All that is wrong with a capture before it is measured, beyond the notes its reader already made.

    Parameters
    ----------
    capture : Capture
        Its ``notes`` are not repeated here.

    Returns
    -------
    tuple of Note
        Codes ``missing_samples``, ``time_base``, ``dead_channel``, ``saturated``, ``clipped``, ``stuck_bits``,
        ``wrong_scale``; empty for a sound trace. Times count from the start of the capture.
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
    rails = list(_rails(emg))
    offset = list(_offset(samples, emg, capture.test))
    dead = list(_dead(samples, emg))
    if dead:
        # A trace that stands still at its stop is driven there; elsewhere nothing reaches the converter.
        stopped = [note for note in rails if note.code == "saturated"] or offset
        return (*notes, *(stopped or dead), *_scale(samples, emg))
    notes += rails
    if not any(note.code == "saturated" for note in rails):
        notes += [*offset, *_held(emg, rails)]
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
    """What the time channel says: another rate than stated, gaps, times that repeat, run backward or are uneven."""
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
            text = f"The capture says {rate:g} Hz, its times say {steps.rate_hz:.6g} Hz ({100 * off:+.2f} %)."
            yield Note("time_base", text)
        told = any(note.code == "missing_samples" for note in capture.notes)
        if len(steps.gap_after) and finite.all() and not told:
            where = places(steps.gap_after + 1, rate)
            first = float(steps.gap_after[0] + 1) / rate
            yield Note(
                "missing_samples", f"{steps.gap_samples.sum()} samples lack by the times, {where}.", first, first
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

    Three neighbouring codes are dead when their spread is below LSB/sqrt(12), the rounding noise of the converter
    (Widrow; Bennett 1948): then whatever stands at the input is less than what cannot be told from nothing.
    """
    if len(np.unique(samples[: min(len(samples), 2000)])) > 3:
        return
    values = np.unique(samples)
    told = f"{len(samples)} samples of {emg.label!r}"
    if len(values) == 1:
        yield Note("dead_channel", f"All {told} are {values[0]:.6g} uV: nothing is measured.")
    elif len(values) == 2:
        yield Note("dead_channel", f"The {told} take two values only, {values[0]:.6g} and {values[1]:.6g} uV.")
    elif len(values) == 3:
        step = float(np.diff(values).min())
        if float(np.diff(values).max()) < 1.5 * step and float(samples.std()) < step / np.sqrt(12.0):
            yield Note("dead_channel", f"The {told} dither by one code of {step:.4g} uV: quieter than any real input.")


def _rails(emg: Channel) -> Iterator[Note]:
    """Stretches at the ends of the range: the declared ends, and flat tops of the trace itself.

    The highest code of a two's-complement converter is one step below its full scale, hence the step and a half.
    """
    low, high = _flat_ends(emg.samples)
    at_rail = np.zeros(len(emg.samples), dtype=bool)
    for end, sign in ((high, 1.0), (-low, -1.0)):
        level = end
        if emg.full_scale is not None:
            declared = emg.full_scale[1] if sign > 0 else -emg.full_scale[0]
            level = min(end, declared - max(1.5 * (emg.resolution or 0.0), 1e-9 * abs(declared)))
        if float(np.nanmax(sign * emg.samples)) >= level:
            touching = sign * emg.samples >= level
            if np.count_nonzero(touching) >= FEWEST_AT_RAIL:
                at_rail |= touching
    if not at_rail.any():
        return
    stretches = _stretches(at_rail, round(JOIN_S * emg.rate_hz))
    for begin, end in stretches[:PLACES_TOLD]:
        start_s, end_s = begin / emg.rate_hz, end / emg.rate_hz
        stays = int(np.count_nonzero(at_rail[begin:end]))
        code = "saturated" if stays >= max(SATURATED_S * emg.rate_hz, 0.5 * (end - begin)) else "clipped"
        verb = "stays at" if code == "saturated" else "touches"
        text = f"The trace {verb} the end of the range from {start_s:.3f} to {end_s:.3f} s ({stays} samples)."
        yield Note(code, text, start_s, end_s)
    if len(stretches) > PLACES_TOLD:
        yield Note("clipped", f"The trace touches the end of the range in {len(stretches) - PLACES_TOLD} more places.")


def _flat_ends(samples: np.ndarray) -> tuple[float, float]:
    """Ends of the range where none is declared: an extreme value held for eight samples, or often for three.

    A trace of some dozen codes has no such plateau by chance: with a spread of ten steps the odds of three samples
    in a row at the very extreme are below one in a million.
    """
    low, high = -np.inf, np.inf
    if len(np.unique(samples[:: max(1, len(samples) // 4000)])) <= 32:
        return low, high
    for sign in (1.0, -1.0):
        extreme = float(np.nanmax(sign * samples))
        at = np.flatnonzero(sign * samples == extreme)
        if len(at) < 8:
            continue
        runs = np.diff(np.concatenate(([0], np.flatnonzero(np.diff(at) > 1) + 1, [len(at)])))
        if runs.max() >= 8 or np.count_nonzero(runs >= 3) >= 3:
            low, high = (low, extreme) if sign > 0 else (-extreme, high)
    return low, high


def _held(emg: Channel, rails: list[Note]) -> Iterator[Note]:
    """Stretches where one value is held, away from the rails, in a trace that moves elsewhere."""
    still = np.concatenate((np.diff(emg.samples) == 0.0, [False]))
    least = max(16, round(STUCK_S * emg.rate_hz))
    if np.count_nonzero(still) < least - 1:
        return
    for begin, end in _stretches(still, 0):
        if end + 1 - begin < least:
            continue
        start_s, end_s = begin / emg.rate_hz, (end + 1) / emg.rate_hz
        told = any(
            n.start_s is not None and n.end_s is not None and n.start_s <= end_s and n.end_s >= start_s for n in rails
        )
        if not told:
            text = f"The trace holds one value, {emg.samples[begin]:.6g} uV, from {start_s:.3f} to {end_s:.3f} s."
            yield Note("dead_channel", text, start_s, end_s)


def _offset(samples: np.ndarray, emg: Channel, test: str | None) -> Iterator[Note]:
    """An input that stands so far off that it must be at its stop, whatever ripple it still shows."""
    limit = WORN_OFFSET_UV if test == "worn" else OFFSET_UV
    if max(float(samples.max()), -float(samples.min())) <= limit:
        return
    middle = float(np.median(samples))
    if limit < abs(middle) <= BEYOND_SUPPLY_UV:
        text = f"The trace of {emg.label!r} stands at {middle / 1e3:.4g} mV: so far off, the input is at its stop."
        yield Note("saturated", text, 0.0, len(emg.samples) / emg.rate_hz)


def _scale(samples: np.ndarray, emg: Channel) -> Iterator[Note]:
    """Units that cannot be: a span no amplifier has, volts no battery gives, noise below that of any source."""
    if emg.full_scale is not None and emg.full_scale[1] - emg.full_scale[0] < SMALLEST_SPAN_UV:
        low, high = emg.full_scale
        text = f"A range of {low:.4g} to {high:.4g} uV holds no muscle signal: the unit {emg.unit!r} is wrong."
        yield Note("wrong_scale", text)
        return
    if emg.resolution is not None and emg.resolution > COARSEST_STEP_UV:
        text = (
            f"Steps of {emg.resolution:.4g} uV cannot show a noise of some microvolts: the unit {emg.unit!r} is wrong."
        )
        yield Note("wrong_scale", text)
        return
    largest = max(float(samples.max()), -float(samples.min()))
    if largest > BEYOND_SUPPLY_UV:
        text = (
            f"Readings up to {largest / 1e6:.4g} V cannot come from a kit on two cells: the unit {emg.unit!r} is wrong."
        )
        yield Note("wrong_scale", text)
        return
    noise, least = _fast_noise(samples, emg.rate_hz), thermal_noise_uv(emg.rate_hz)
    if 0.0 < noise < least:
        text = (
            f"The trace varies by {noise:.2g} uV from sample to sample, below the thermal noise of "
            f"{QUIETEST_SOURCE_OHM:g} ohm ({least:.2g} uV): the unit {emg.unit!r} is wrong (are these millivolts?)."
        )
        yield Note("wrong_scale", text)


def thermal_noise_uv(rate_hz: float, ohm: float = QUIETEST_SOURCE_OHM) -> float:
    """Thermal noise of the smallest source resistance over the judged band, microvolts RMS.

    ``sqrt(4 k T R B)`` (Nyquist 1928), B from 20 Hz to min(450 Hz, 0.4 x rate).
    """
    band = min(450.0, 0.4 * rate_hz) - 20.0
    return 1e6 * float(np.sqrt(4.0 * BOLTZMANN * ROOM_K * ohm * max(band, 0.0)))


def _fast_noise(samples: np.ndarray, rate_hz: float) -> float:
    """Robust spread of second differences, microvolts: hum and drift cancel, white noise keeps its RMS.

    Differences are taken over about half a millisecond, so that a band limit well below the rate does not hide noise.
    White noise of RMS s has second differences of RMS s x sqrt(6); the median of their size is 0.6745 of it.
    """
    lag = max(1, round(rate_hz / 2000.0))
    if len(samples) <= 2 * lag:
        return 0.0
    second = samples[2 * lag :] - 2.0 * samples[lag:-lag] + samples[: -2 * lag]
    size = np.abs(second)
    middle = len(size) // 2
    return float(np.partition(size, middle)[middle] / 0.6745 / np.sqrt(6.0))


def _stretches(mask: np.ndarray, join: int) -> list[tuple[int, int]]:
    """Half-open index ranges where ``mask`` holds, those at most ``join`` apart taken as one."""
    at = np.flatnonzero(mask)
    if not len(at):
        return []
    breaks = np.flatnonzero(np.diff(at) > join + 1)
    begins = at[np.concatenate(([0], breaks + 1))]
    ends = at[np.concatenate((breaks, [len(at) - 1]))] + 1
    return list(zip(begins.tolist(), ends.tolist(), strict=True))
