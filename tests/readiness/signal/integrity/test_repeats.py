"""Samples that stand in a trace more than once."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.integrity.checks import check_integrity

from .traces import RATE, capture, codes_of, noise

pytestmark = pytest.mark.any_database


@pytest.mark.parametrize("size", [64, 250, 1000])
@pytest.mark.parametrize("step", [0.001, 0.25])
def test_a_loop_is_told_with_its_share_and_places(size, step):
    x = np.tile(noise(step=step)[:size], 160)[:10_000]
    notes = [note for note in check_integrity(capture(x)) if note.code == "repeated_samples"]
    assert len(notes) == 1 and "sample for sample" in notes[0].text
    assert notes[0].start_s == pytest.approx(size / RATE, abs=0.001)


@pytest.mark.parametrize("step", [0.001, 0.25])
def test_a_buffer_that_came_twice_is_told_where_it_stands(step):
    x = noise(step=step)
    x[5000:5064] = x[4936:5000]
    (note,) = check_integrity(capture(x))
    assert note.code == "repeated_samples" and note.start_s == pytest.approx(5.0, abs=0.003)


def test_values_held_for_lost_packets_are_told_though_each_is_short():
    x = noise()
    for begin in (2000, 4000, 7000):
        x[begin : begin + 60] = x[begin]
    (note,) = check_integrity(capture(x))
    assert note.code == "repeated_samples"
    assert note.start_s == 2.0 and "3 places, at 2 s, 4 s, 7 s" in note.text


@pytest.mark.parametrize("hum_uv", [0.0, 5.0, 100.0])
@pytest.mark.parametrize("sd", [0.12, 0.3, 1.5])
def test_coarse_noise_in_step_with_the_mains_repeats_nothing(sd, hum_uv):
    t = np.arange(10_000) / RATE
    for seed in range(3):
        drawn = np.random.default_rng(seed).normal(0.0, sd, 10_000)
        x = np.rint((drawn + hum_uv * np.sin(2 * np.pi * 50 * t + 1.0)) / 0.25) * 0.25
        assert "repeated_samples" not in codes_of(x)
