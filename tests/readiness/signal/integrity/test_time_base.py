"""Gaps, and times that disagree with the stated rate."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.capture import Note
from readiness.signal.integrity.checks import check_integrity

from .traces import RATE, capture, codes_of, noise


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
def test_samples_that_are_not_finite_are_missing(value):
    samples = noise()
    samples[[100, 2500]] = value
    (note,) = check_integrity(capture(samples))
    assert note.code == "missing_samples" and note.start_s == 0.1 and "2.5 s" in note.text


def test_what_the_reader_told_is_not_told_again():
    samples = noise()
    samples[100] = np.nan
    assert codes_of(samples, notes=(Note("missing_samples", "told"),)) == []
    assert codes_of(np.full(10_000, np.nan), notes=(Note("missing_samples", "told"),)) == [
        "dead_channel"
    ]


@pytest.mark.parametrize(
    ("off", "told"), [(0.003, False), (-0.003, False), (0.005, True), (-0.005, True), (0.02, True)]
)
def test_stated_rate_against_the_times(off, told):
    t = np.arange(10_000) / (RATE * (1 + off))
    assert codes_of(noise(), time=np.round(t, 6)) == (["time_base"] if told else [])


def test_times_that_repeat_run_backward_or_lack():
    t = np.arange(10_000) / RATE
    repeated, backward, gap = t.copy(), t.copy(), t.copy()
    repeated[500] = repeated[499]
    backward[500:] -= 0.02
    gap[500:] += 0.02
    notes = check_integrity(capture(noise(), time=repeated))
    assert "The times stand still in 1 place: at 0.5 s." in [note.text for note in notes]
    assert codes_of(noise(), time=backward) == ["time_base"]
    assert codes_of(noise(), time=gap) == ["missing_samples"]


def test_times_without_a_steady_step_are_told():
    times = np.sort(np.random.default_rng(3).uniform(0.0, 10.0, 10_000))
    (note,) = check_integrity(capture(noise(), time=times))
    assert note.code == "time_base" and "no steady step" in note.text
