"""Traces no amplifier gives: every one is answered, none is fit, nothing is NaN."""

from __future__ import annotations

import json
import warnings

import numpy as np
import pytest

from readiness.signal.catalogue import CATALOGUE
from readiness.signal.result import Report
from readiness.signal.score import score_capture

from .made import capture_of, quiet

N = 10240
RNG = np.random.default_rng(1)
EXTREMES = {
    "huge": RNG.normal(size=N) * 1e300,
    "tiny": RNG.normal(size=N) * 1e-300,
    "square": 1e15 * np.sign(np.sin(np.arange(N))),
    "ramp": np.linspace(-1e6, 1e6, N),
    "one spike": np.where(np.arange(N) == 5000, 1e9, 0.0),
    "half dead": np.concatenate([np.zeros(N // 2), RNG.normal(size=N // 2)]),
    "step": np.concatenate([np.zeros(N // 2), np.full(N // 2, 500.0)]) + RNG.normal(size=N) * 1e-6,
    "alternating": np.tile([1.0, -1.0], N // 2),
    "pure 50 Hz": 30 * np.sin(2 * np.pi * 50 * np.arange(N) / 1024),
    "nothing finite": np.full(N, np.nan),
    "infinities": np.where(np.arange(N) % 7 == 0, np.inf, 0.0),
}


@pytest.mark.parametrize("test", CATALOGUE)
@pytest.mark.parametrize("name", EXTREMES)
def test_extreme_traces_are_answered_and_never_fit(name, test):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        capture = capture_of(EXTREMES[name], test)
        result = score_capture(capture)
    assert result.verdict != "fit"
    json.dumps(Report("x", True, None, "", capture, result).to_json(), allow_nan=False)


@pytest.mark.parametrize("rate", [256.0, 333.33, 999.7, 2048.0, 20000.0])
@pytest.mark.parametrize("seconds", [9.7, 10.5])
def test_odd_rates_and_lengths(rate, seconds):
    x = quiet(np.random.default_rng(2), 0.8 * np.sqrt(max(1.0, rate / 1024)), rate, seconds)
    assert score_capture(capture_of(x, "still", rate=rate)).verdict == "fit"


@pytest.mark.parametrize("rate", [40.0, 100.0, 128.0])
def test_a_rate_too_low_for_a_noise_floor_is_said(rate):
    result = score_capture(
        capture_of(quiet(np.random.default_rng(3), 0.8, rate), "still", rate=rate)
    )
    assert result.verdict == "retest"
    assert result.scores.noise is None
