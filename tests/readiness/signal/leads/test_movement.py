"""Movement of a cable, told from noise and from what the lead before has left behind."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.catalogue import FLEX
from readiness.signal.leads.movement import MOVES, PASSES, movement_by_lead, slow_passed, swing_in
from readiness.signal.leads.trace import Trace, trace_of
from readiness.signal.spectrum.mains import find_mains
from tests.readiness.signal.made import RATE, quiet

T = np.arange(10240) / RATE


def traced(x: np.ndarray) -> Trace:
    return trace_of(x, RATE, find_mains(x, RATE, 50.0))


def bent(start_s: float, end_s: float, uv: float = 10.0, hz: float = 2.0) -> np.ndarray:
    return np.where((start_s < T) & (end_s > T), uv * np.sin(2 * np.pi * hz * T), 0.0)


def moved(x: np.ndarray) -> set[str]:
    ratios = movement_by_lead(traced(x), FLEX.spans, 0.01)
    assert list(ratios) == ["A", "B", "ground"]
    return {lead for lead, ratio in ratios.items() if ratio >= MOVES}


@pytest.mark.parametrize("late_s", [-0.5, 0.0, 0.5])
def test_a_lead_that_is_bent_moves_and_one_that_is_not_does_not(late_s):
    noise = quiet(np.random.default_rng(4))
    assert moved(noise) == set()
    calls = [bent(start + late_s, start + 2.5 + late_s) for start in (2.5, 5.0, 7.5)]
    assert moved(noise + sum(calls)) == {"A", "B", "ground"}
    assert moved(noise + calls[0] + calls[2]) == {"A", "ground"}
    assert swing_in(traced(noise + calls[0]), FLEX.spans, "A") > 5


@pytest.mark.parametrize("fades_s", [0.1, 0.5, 2.0])
def test_what_dies_away_is_no_movement_of_the_next_lead(fades_s):
    rises = 20 * (1 - np.cos(np.pi * np.clip((T - 4.8) / 0.3, 0, 1)))
    tail = rises * np.exp(-np.maximum(T - 5.1, 0) / fades_s)
    assert "B" not in moved(quiet(np.random.default_rng(5)) + tail)


def test_rounding_is_no_movement():
    x = np.zeros(10240)
    x[6000:6200] = 1.0
    assert movement_by_lead(traced(x), FLEX.spans, 0.3)["B"] < MOVES


def test_the_amplifiers_own_noise_tells_what_its_high_pass_takes():
    x = quiet(np.random.default_rng(6))
    leads = ("A", "B", "ground")
    assert slow_passed(traced(quiet(np.random.default_rng(7))), FLEX.spans, leads) > PASSES
    spectrum = np.fft.rfft(x)
    spectrum[:100] = 0  # 10 Hz
    assert slow_passed(traced(np.fft.irfft(spectrum, 10240)), FLEX.spans, leads) < 0.2
    assert slow_passed(traced(np.zeros(10240)), FLEX.spans, ()) == 0.0
