"""Steps of the converter, and bits that never change."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.integrity.checks import check_integrity

from .traces import RATE, STEP, capture, codes_of, noise


def test_values_off_the_declared_resolution():
    (note,) = check_integrity(capture(noise(step=0.01), resolution=STEP))
    assert note.code == "wrong_scale" and "between the declared steps" in note.text


def test_steps_that_stand_beside_zero_are_on_the_grid():
    assert codes_of(noise() + 0.5 * STEP, resolution=STEP) == []


@pytest.mark.parametrize("declared", [0.1526, 0.153])
def test_a_step_declared_with_few_digits_is_the_step(declared):
    # 0.152587890625 is 10 mV over 16 bits; hum of 500 uV reaches code 3277, where the lost digits
    # add up to 1.3 steps.
    step, t = 0.152587890625, np.arange(10_000) / RATE
    wave = np.round(
        np.rint((noise(step=1e-3) + 500 * np.sin(2 * np.pi * 0.4 * t)) / step) * step, 4
    )
    assert codes_of(wave, resolution=declared, full_scale=(-5000.0, 5000.0)) == []


def test_values_written_too_coarsely_for_their_step_are_not_judged():
    assert codes_of(np.round(noise(step=0.15), 1), resolution=0.15) == []


@pytest.mark.parametrize(
    ("bits", "words"),
    [
        (1, "lowest 1 bit of the converter never changes:"),
        (3, "lowest 3 bits of the converter never change:"),
    ],
)
def test_low_bits_that_never_change(bits, words):
    codes = np.random.default_rng(5).normal(0, 300, 10_000).round().astype(int) >> bits << bits
    (note,) = check_integrity(capture(codes * STEP, resolution=STEP, full_scale=(-8192.0, 8191.75)))
    assert note.code == "stuck_bits" and words in note.text


@pytest.mark.parametrize("bit", [2, 4])
@pytest.mark.parametrize("state", [0, 1])
@pytest.mark.parametrize("resolution", [None, STEP])
def test_a_middle_bit_that_never_changes(bit, state, resolution):
    codes = np.random.default_rng(6).normal(0, 300, 10_000).round().astype(int)
    codes = codes | 1 << bit if state else codes & ~(1 << bit)
    (note,) = check_integrity(capture(codes * STEP, resolution=resolution))
    assert note.code == "stuck_bits" and f"Bit {bit} " in note.text


@pytest.mark.parametrize("bit", [0, 1, 2, 3, 4])
@pytest.mark.parametrize("state", [0, 1])
@pytest.mark.parametrize("spread", [3.0, 12.0])
def test_a_stuck_bit_within_a_few_codes_of_noise(bit, state, spread):
    codes = np.random.default_rng(8).normal(0, spread, 10_000).round().astype(int)
    codes = codes | 1 << bit if state else codes & ~(1 << bit)
    seen = codes_of(codes * STEP, resolution=STEP, full_scale=(-1024.0, 1023.75))
    # Blocks of 2^bit codes must lie well inside the trace for their lack to show.
    assert seen == ["stuck_bits"] or 2**bit > spread


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("spread", [1.5, 3.0, 10.0, 40.0])
def test_sound_noise_anywhere_has_no_stuck_bit(seed, spread):
    rng = np.random.default_rng(seed)
    codes = rng.normal(rng.integers(-500, 500), spread, 10_000).round().astype(int)
    assert codes_of(codes * STEP, resolution=STEP, full_scale=(-1024.0, 1023.75)) == []


def test_two_plateaus_are_no_stuck_bit():
    samples = noise(sd=0.75)
    samples[5000:] += 1000 * STEP
    assert codes_of(samples, resolution=STEP) == []


@pytest.mark.parametrize("bit", [1, 2, 3])
@pytest.mark.parametrize("state", [0, 1])
@pytest.mark.parametrize("top", [8192.0, 5000.0, 5000.3, 4999.75, 8193.25])
def test_a_stated_range_never_hides_a_stuck_bit(bit, state, top):
    codes = np.random.default_rng(7).normal(0, 60, 10_000).round().astype(int)
    codes = codes | 1 << bit if state else codes & ~(1 << bit)
    x = codes * STEP
    assert codes_of(x, resolution=STEP) == ["stuck_bits"]
    assert codes_of(x, resolution=STEP, full_scale=(-top, top - STEP)) == ["stuck_bits"]


@pytest.mark.parametrize("top", [5000.0, 5000.3, 4999.75])
def test_a_stated_range_makes_no_bit_of_sound_noise_stuck(top):
    for seed in range(20):
        x = noise(sd=0.3 + seed, seed=seed)
        assert codes_of(x, resolution=STEP, full_scale=(-top, top - STEP)) == []
