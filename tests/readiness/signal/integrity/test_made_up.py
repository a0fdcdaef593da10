"""Samples that were computed from others."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.integrity.made_up import is_one_sided, what_was_made

from .traces import RATE, noise

pytestmark = pytest.mark.any_database


def made(x: np.ndarray, *, rests: bool = True, hums: bool = False) -> str:
    return what_was_made(x, RATE, rests=rests, hums=hums)


def fine(seed: int = 1) -> np.ndarray:
    return noise(step=0.001, seed=seed)


@pytest.mark.parametrize("step", [0.001, 0.25, 0.7])
def test_noise_of_any_step_is_nobodys_work(step):
    for seed in range(5):
        x = noise(step=step, seed=seed)
        assert made(x) == "" and made(x + 200.0) == "" and made(x, rests=False) == ""


def test_hum_steps_and_drift_are_nobodys_work():
    t = np.arange(10_000) / RATE
    hum = 80 * np.sin(2 * np.pi * 50 * t) + 15 * np.sin(2 * np.pi * 100 * t)
    for other in (hum, 40 * (np.sin(2 * np.pi * 1.3 * t) > 0), 30 * t, 30 * np.sin(2 * t)):
        assert made(fine() + other, hums=other is hum) == ""


@pytest.mark.parametrize("step", [0.001, 0.25])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_folded_trace_is_rectified_with_its_mean_or_without(step, sign):
    folded = sign * np.abs(noise(step=step))
    assert "rectified" in made(folded) and "rectified" in made(folded, rests=False)
    assert "rectified" in made(folded - folded.mean())
    assert "half-wave" in made(np.maximum(noise(step=step), 0.0))


def test_raw_hum_whose_lowest_code_is_zero_by_chance_is_not_rectified():
    t = np.arange(2000) / RATE
    hum = 10 * np.sin(2 * np.pi * 50.1 * t) + noise(step=0.001, seed=4)[:2000]
    at_zero = hum - hum.min()
    assert "rectified" in made(at_zero, hums=True)
    assert what_was_made(at_zero, RATE, rests=True, hums=True, in_its_place=True) == ""
    assert "rectified" in made(np.abs(hum), hums=True)


def test_coarse_noise_whose_lowest_code_is_zero_by_chance_is_not_rectified():
    codes = np.repeat(np.arange(11.0), (3, 26, 31, 75, 78, 90, 78, 75, 31, 26, 3))
    coarse = 0.25 * np.random.default_rng(1).permutation(codes)
    assert made(coarse) == ""
    assert "rectified" in made(np.abs(coarse - 5 * 0.25))


@pytest.mark.parametrize("factor", [2, 4, 10])
def test_samples_on_lines_between_others_and_repeats_are_told_with_their_number(factor):
    few, at = fine()[::factor], np.arange(0, 10_000, factor)
    lines = np.round(np.interp(np.arange(10_000), at, few), 3)
    assert f"{factor} times lower" in made(lines) and "straight lines" in made(lines)
    assert f"{factor} times lower" in made(np.repeat(few, factor)[:10_000])


@pytest.mark.parametrize("step", [0.001, 0.25])
def test_a_median_of_neighbours_is_told_by_their_being_the_same(step):
    x = noise(step=step)
    middle = np.median(np.stack([x[:-2], x[1:-1], x[2:]]), axis=0)
    assert "the very same" in made(middle)


def test_an_envelope_keeps_near_to_one_side_of_zero_and_an_offset_does_not():
    smooth = np.convolve(np.abs(fine()), np.ones(40) / 40, "valid")
    assert is_one_sided(smooth, 2.0) and is_one_sided(-smooth, 2.0)
    assert not is_one_sided(fine(), 2.0) and not is_one_sided(fine() + 300.0, 2.0)


@pytest.mark.parametrize("rests", [True, False])
@pytest.mark.parametrize("wide", [1, 3])
def test_a_folded_trace_is_known_without_its_mean_at_a_high_rate_and_in_two_seconds(rests, wide):
    for seed in range(3):
        rng = np.random.default_rng(seed)
        # A band limit ties neighbours together: the edge then comes and goes slower.
        raw = np.convolve(rng.normal(0, 1.5, 10_000 * wide), np.ones(wide), "same")
        folded = np.abs(raw) - np.abs(raw).mean()
        assert "rectified" in what_was_made(folded, RATE * wide, rests=rests, hums=False)
        assert what_was_made(raw, RATE * wide, rests=rests, hums=False) == ""
