"""Hum in each lead's part beside that of the lifted ground."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.leads.in_line import Beside, beside_ground, steady_phases
from readiness.signal.leads.trace import trace_of
from readiness.signal.spectrum.mains import find_mains

pytestmark = pytest.mark.any_database
RATE = 1024.0
T = np.arange(10240) / RATE
LIFTED_S = {"A": (2.9, 4.2), "B": (5.4, 6.8), "ground": (8.0, 9.2)}


def seen(base: complex, hz: float = 50.0, **hum_by_lead: complex) -> Beside:
    """What is seen of a hum that is another one while a lead is lifted."""
    hum = np.full(len(T), base)
    for lead, value in hum_by_lead.items():
        start, end = LIFTED_S[lead]
        hum[(start <= T) & (end > T)] = value
    x = np.real(hum * np.exp(2j * np.pi * hz * T)) + np.random.default_rng(3).normal(0, 1, len(T))
    return beside_ground(trace_of(x, RATE, find_mains(x, RATE)))


@pytest.mark.parametrize("hz", [50.0, 49.97])
def test_beside_a_silent_open_lead_the_closed_one_moves_hum_as_the_ground_does(hz: float) -> None:
    found = seen(0j, hz, A=400 * np.exp(0.2j), ground=3000)
    assert (found.in_line, found.beyond, found.silent) == ({"A"}, {"A"}, {"B"})
    assert not found.opposed


def test_what_only_takes_hum_away_does_not_go_beyond_it() -> None:
    """As a finger on the open lead's snap does."""
    found = seen(300 + 0j, A=10, ground=-3000)
    assert found.in_line == {"A"}
    assert not found.beyond


def test_a_sound_pair_moves_hum_in_opposite_directions_whatever_the_ground_does() -> None:
    for ground in (900, -900j):
        found = seen(3 + 0j, A=800, B=-700, ground=ground)
        assert found.opposed
    assert seen(0j, A=800, B=-700).in_line == frozenset()


def test_edges_alone_have_no_direction() -> None:
    x = np.random.default_rng(3).normal(0, 1, len(T))
    x[(T > 3.1) & (T < 3.2)] += 5e3
    assert not beside_ground(trace_of(x, RATE, find_mains(x, RATE))).clear


def test_strong_hum_keeps_its_phase_though_the_rest_is_silent() -> None:
    hum = np.where((T > 5) & (T < 9), 500.0, 0.0)
    x = hum * np.cos(2 * np.pi * 50.4 * T) + np.random.default_rng(3).normal(0, 1, len(T))
    trace = trace_of(x, RATE, find_mains(x, RATE))
    inside = steady_phases(trace)[trace.segments(5.3, 8.7)]
    assert np.ptp(np.unwrap(np.angle(inside))) < 0.2
