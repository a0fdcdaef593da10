"""Ends of the range, and traces that stop moving."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.integrity.checks import check_integrity

from .traces import RATE, STEP, capture, codes_of, noise


def test_a_trace_that_stops_in_the_middle_is_dead_there():
    samples = noise()
    samples[4000:4600] = samples[4000]
    (note,) = check_integrity(capture(samples))
    assert note.code == "dead_channel"
    assert note.start_s == pytest.approx(4.0, abs=0.003) and note.end_s == pytest.approx(
        4.6, abs=0.003
    )


@pytest.mark.parametrize("full_scale", [None, (-1000.0, 1000.0)])
def test_a_capture_that_rails_in_one_window_only(full_scale):
    samples = noise(sd=20.0)
    samples[5000:7500] = 1000.0
    (note,) = check_integrity(capture(samples, resolution=STEP, full_scale=full_scale))
    assert (note.code, note.start_s, note.end_s) == ("saturated", 5.0, 7.5)


def test_every_stay_at_a_rail_is_a_rail_however_many_there_are():
    """Of many stays five are told by name; the others are rails all the same, and no trace that
    stopped.
    """
    x = np.random.default_rng(4).normal(0.0, 30.0, 10240)
    for second in range(1, 9):
        x[second * 1024 : second * 1024 + 300] = -1000.0
    assert set(codes_of(x, rate=1024.0, full_scale=(-1000.0, 1000.0), test="flex")) <= {
        "saturated",
        "clipped",
    }


def test_short_contacts_with_both_rails_are_clipped():
    samples = noise(sd=20.0)
    samples[3000:3020], samples[6000:6030] = 1000.0, -1000.0
    notes = check_integrity(capture(samples, resolution=STEP, full_scale=(-1000.0, 1000.0)))
    assert [(n.code, n.start_s, n.end_s) for n in notes] == [
        ("clipped", 3.0, 3.02),
        ("clipped", 6.0, 6.03),
    ]


def test_flat_tops_without_a_declared_range_are_clipped():
    t = np.arange(10_000) / RATE
    wave = np.clip(100.0 * np.sin(2 * np.pi * 50 * t) + noise(), -80.0, 80.0)
    assert set(codes_of(wave)) == {"clipped"}


def test_a_rail_one_step_below_the_declared_range():
    samples = noise(sd=20.0)
    samples[5000:7500] = 1000.0 - STEP
    (note,) = check_integrity(capture(samples, resolution=STEP, full_scale=(-1000.0, 1000.0)))
    assert (note.code, note.start_s, note.end_s) == ("saturated", 5.0, 7.5)


def test_a_range_set_to_the_extremes_of_the_trace_is_no_rail():
    samples = noise(sd=20.0, step=0.001)
    assert codes_of(samples, full_scale=(float(samples.min()), float(samples.max()))) == []


@pytest.mark.parametrize("test", ["flex", "ground"])
@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize("full_scale", [None, (-1000.0, 1000.0)])
def test_a_value_held_just_outside_the_noise_is_no_rail(test, side, full_scale):
    samples = noise()
    samples[4000:5400] = side * (np.abs(samples).max() + STEP)
    (note,) = check_integrity(capture(samples, full_scale=full_scale, test=test))
    assert (note.code, note.start_s, note.end_s) == ("dead_channel", 4.0, 5.4)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_stay_far_outside_is_a_rail_though_none_is_declared(side):
    samples = noise()
    samples[4000:5400] = side * 700.0
    assert set(codes_of(samples, test="flex")) == {"saturated"}
