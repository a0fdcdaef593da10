"""Captures that are not what they say: named, never fit, and a raw one is never called so."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from readiness.signal.bench_tests.findings import FINDING_KINDS
from readiness.signal.capture import Recording
from readiness.signal.limits import Limits
from readiness.signal.score import score_capture
from readiness.signal.simulator.captures import draw_setup, simulate, with_noise
from tests.readiness.signal.bench_of_hands import draw_bench, hand_flex
from tests.readiness.signal.made import SETUP, capture_of, model_capture
from tests.readiness.signal.spoiled import WAYS, spoil

pytestmark = pytest.mark.any_database
NAMED = {"not_raw", "repeated_samples", "dead_channel", "wrong_scale"}


def spoiled(capture: Recording, way: str) -> Recording:
    """The same capture as an export of that kind writes it, without a word of its converter."""
    samples = spoil(way, capture.emg.samples, capture.rate_hz)
    emg = replace(capture.emg, samples=samples, resolution=None, full_scale=None)
    return replace(capture, emg=emg, channels=(emg,))


def codes_of(capture: Recording, limits: Limits | None = None) -> set[str]:
    return {item.code for item in score_capture(capture, limits).findings}


@pytest.mark.parametrize(
    ("way", "noise_uv"), [(way, (1.2, 2.37)[number % 2]) for number, way in enumerate(WAYS)]
)
def test_what_was_done_to_a_still_is_named_and_it_is_not_fit(way: str, noise_uv: float) -> None:
    setup = with_noise(replace(SETUP, rate_hz=1000.0), noise_uv)
    made = simulate("still", setup, (), np.random.default_rng(5)).capture
    result = score_capture(spoiled(made, way))
    found = {item.code: item.verdict for item in result.findings}
    if "notch" in way:
        assert "not_raw" in found
        return
    assert result.verdict != "fit"
    if way in ("envelope 3 Hz", "envelope 6 Hz"):
        return  # It stands still now and then, which is also what a stop looks like.
    assert set(found) & NAMED, found
    assert result.verdict == "retest" or noise_uv > 2.0, found
    assert found.get("not_raw", "retest") == found.get("repeated_samples", "retest") == "retest"


def test_a_noisy_kit_does_not_pass_once_its_file_was_rectified() -> None:
    """2.37 uV are 1.46 uV after it: below the limit, and no measurement."""
    noisy = model_capture("still", seed=4, noise_density_nv=115.0)
    assert codes_of(noisy) == {"excess_noise"}
    result = score_capture(spoiled(noisy, "rectified"))
    (found,) = [item for item in result.findings if item.code == "not_raw"]
    assert (found.verdict, result.scores.noise) == ("retest", None)
    assert "rectified" in found.text and found.action == FINDING_KINDS["not_raw"].action


@pytest.mark.parametrize("test", ["flex", "lift", "ground"])
@pytest.mark.parametrize(
    "way", ["rectified", "band 100-200", "below 100", "bell 2", "one second ten times"]
)
def test_it_is_named_where_hands_are_at_work_too(test: str, way: str) -> None:
    assert codes_of(spoiled(model_capture(test, seed=7), way)) & NAMED


def test_the_amplifiers_own_band_is_not_blamed_where_the_plan_states_it() -> None:
    narrow = model_capture("still", seed=3, low_pass_hz=90.0, low_pass_order=6)
    assert "not_raw" in codes_of(narrow)
    assert "not_raw" not in codes_of(narrow, Limits(low_pass_hz=90.0))
    above = spoiled(model_capture("still", seed=3), "above 100")
    assert "not_raw" not in codes_of(above, Limits(high_pass_hz=100.0))


def test_an_amplifier_with_a_notch_is_not_blamed_where_the_plan_says_so() -> None:
    notched = spoiled(model_capture("still", seed=3), "notch")
    assert "not_raw" in codes_of(notched) and score_capture(notched).verdict == "fit"
    assert score_capture(notched, Limits(notch=False)).verdict == "retest"
    assert "not_raw" not in codes_of(notched, Limits(notch=True))


def test_noise_of_a_generator_offered_as_flex_or_lift_is_not_fit() -> None:
    x = np.round(np.random.default_rng(1).normal(0, 1.2, 10_240), 2)
    assert all(score_capture(capture_of(x, test)).verdict != "fit" for test in ("flex", "lift"))


def test_raw_captures_are_not_called_otherwise() -> None:
    rng = np.random.default_rng(11)
    called = []
    for _ in range(3):
        setup = draw_setup(rng, 2.0)
        for test in ("still", "flex", "lift", "ground", "worn"):
            called += codes_of(simulate(test, setup, (), rng).capture)
    called += [code for _ in range(5) for code in codes_of(hand_flex(draw_bench(rng), rng))]
    assert not {"not_raw", "repeated_samples", "wrong_post"} & set(called)
