"""What the times of a capture say of its samples: gaps, and a time base that cannot be."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from readiness.signal.capture import Channel, Note, Recording
from readiness.signal.counts import counted
from readiness.signal.time_steps import Steps, measure_steps

from .places import places

RATE_TOLERANCE = 0.004
"""Largest relative difference between the stated rate and the time column (measurement.md: 0.4 %).
"""


def check_gaps(capture: Recording) -> Iterator[Note]:
    """Samples that are not finite (``missing_samples``), where the reader noted none."""
    if reader_noted_gaps(capture):
        return
    emg = capture.emg
    holes = np.flatnonzero(~np.isfinite(emg.samples))
    if not len(holes):
        return
    samples = counted(len(holes), "sample is", "samples are")
    text = f"{samples} not finite, {places(holes, emg.rate_hz)}."
    start_s = float(holes[0]) / emg.rate_hz
    end_s = float(holes[-1] + 1) / emg.rate_hz
    yield Note("missing_samples", text, start_s, end_s)


def check_time_base(capture: Recording) -> Iterator[Note]:
    """What each time channel says: another rate than stated, gaps, times that repeat, run backward
    or are uneven (``time_base``, ``missing_samples``).
    """
    for channel in capture.channels:
        if channel.role == "time":
            yield from _judge_times(capture, channel)


def reader_noted_gaps(capture: Recording) -> bool:
    """Whether the reader said already which samples lack."""
    return any(note.code == "missing_samples" for note in capture.notes)


def _judge_times(capture: Recording, channel: Channel) -> Iterator[Note]:
    finite = np.isfinite(channel.samples)
    complete = bool(finite.all())
    times = channel.samples if complete else channel.samples[finite]
    steps = measure_steps(times, capture.rate_hz)
    if steps is None:
        yield Note("time_base", f"The times in {channel.label!r} have no steady step.")
        return
    yield from _against_stated_rate(capture.rate_hz, steps)
    if complete and not reader_noted_gaps(capture):
        yield from _gaps_by_times(capture.rate_hz, steps)
    yield from _odd_steps(capture.rate_hz, steps)


def _against_stated_rate(rate_hz: float, steps: Steps) -> Iterator[Note]:
    off = rate_hz / steps.rate_hz - 1.0
    if abs(off) > RATE_TOLERANCE + steps.rate_tolerance:
        text = (
            f"The capture says {rate_hz:g} Hz, its times say {steps.rate_hz:.6g} Hz"
            f" ({100 * off:+.2f} %)."
        )
        yield Note("time_base", text)


def _gaps_by_times(rate_hz: float, steps: Steps) -> Iterator[Note]:
    if not len(steps.gap_after):
        return
    where = places(steps.gap_after + 1, rate_hz)
    samples = counted(int(steps.gap_samples.sum()), "sample lacks", "samples lack")
    text = f"{samples} by the times, {where}."
    first_s = float(steps.gap_after[0] + 1) / rate_hz
    yield Note("missing_samples", text, first_s, first_s)


def _odd_steps(rate_hz: float, steps: Steps) -> Iterator[Note]:
    kinds = {
        "run backward": steps.backward,
        "stand still": steps.repeated,
        "are uneven": steps.uneven,
    }
    for what, indices in kinds.items():
        if not len(indices):
            continue
        where = places(indices + 1, rate_hz)
        text = f"The times {what} in {counted(len(indices), 'place', 'places')}: {where}."
        first_s = float(indices[0] + 1) / rate_hz
        yield Note("time_base", text, first_s, first_s)
