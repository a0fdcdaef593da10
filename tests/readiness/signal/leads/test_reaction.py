"""The reaction of a lifted lead, and what must not be taken for one."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.bench_tests.lift import GROUND_SURE
from readiness.signal.leads.reaction import Reaction, reaction_to
from readiness.signal.leads.trace import trace_of
from readiness.signal.simulator.captures import Fault
from readiness.signal.spectrum.mains import find_mains
from tests.readiness.signal.made import model_capture, quiet

T = np.arange(10240) / 1024


def reaction(x: np.ndarray, lead: str, zone: tuple[float, float]) -> Reaction:
    return reaction_to(trace_of(x, 1024.0, find_mains(x, 1024.0)), lead, zone)


def hum(uv: float, start: float, end: float, phase: float = 0.0) -> np.ndarray:
    return uv * ((start <= T) & (end > T)) * np.sin(2 * np.pi * 50.02 * T + phase)


def test_a_lifted_lead_hums():
    x = quiet(np.random.default_rng(1)) + hum(2, 0, 10) + hum(800, 2.9, 4.4)
    found = reaction(x, "A", (2.5, 4.5))
    assert found.ratio > 100
    assert found.abrupt > 20
    assert reaction(x, "B", (5.5, 7.0)).ratio < 1.5


def test_a_lead_that_quietens_the_input_reacts_too():
    """A first stage driven to its stop passes a few per cent of its noise."""
    x = quiet(np.random.default_rng(2))
    x[3000:4500] *= 0.05
    assert reaction(x, "A", (2.5, 4.5)).ratio > 10


def test_an_input_that_stays_at_the_end_of_its_range_reacts_though_nothing_moves_there():
    x = quiet(np.random.default_rng(5))
    x[5600:7300] = 5000.0
    trace = trace_of(x, 1024.0, find_mains(x, 1024.0), (-5000.0, 5000.0))
    assert reaction_to(trace, "B", (5.5, 7.0)).ratio >= 100
    assert reaction_to(trace, "A", (2.5, 4.5)).ratio < 2
    assert reaction_to(trace, "ground", (8.0, 9.9)).ratio < 2


def test_nothing_lifted_is_no_reaction():
    for seed in range(30):
        x = quiet(np.random.default_rng(seed)) + hum(3, 0, 10)
        for lead, zone in (("A", (2.5, 4.5)), ("ground", (8.0, 9.9))):
            found = reaction(x, lead, zone)
            assert found.ratio < 2
            assert found.sure < GROUND_SURE
            assert found.turned < 0.5


@pytest.mark.parametrize("phase", [0.0, 1.6])
def test_a_small_coherent_rise_of_hum_is_seen_in_noise(phase):
    """1 uV of hum in 1 uV of noise: averaged in phase it stands eight deviations out."""
    x = quiet(np.random.default_rng(3), 0.8) + hum(1.2, 8.0, 9.6, phase)
    found = reaction(x, "ground", (8.0, 9.9))
    assert found.sure > 8
    assert found.hum_ratio > 2


def test_a_hand_that_sways_hum_does_not_turn_it():
    sway = 1 + 0.25 * np.sin(2 * np.pi * 0.8 * T)
    x = quiet(np.random.default_rng(4)) + 30 * sway * np.sin(2 * np.pi * 50.02 * T)
    found = reaction(x, "ground", (8.0, 9.9))
    assert found.turned < 0.3
    assert found.hum_ratio < 1.5


@pytest.mark.parametrize("seed", range(5))
def test_an_open_lead_is_the_one_that_changes_nothing(seed):
    capture = model_capture("lift", Fault("open_lead", float("inf"), "A"), seed=seed)
    x = capture.emg.samples
    trace = trace_of(x, 1024.0, find_mains(x, 1024.0), capture.emg.full_scale)
    a, b = reaction_to(trace, "A", (2.5, 4.5)), reaction_to(trace, "B", (5.5, 7.0))
    assert a.ratio * a.abrupt < b.ratio * b.abrupt
