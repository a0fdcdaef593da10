"""Hum that stays in its place or turns over while a lead is lifted."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.leads.trace import trace_of
from readiness.signal.leads.turns import NONE, Turns, hum_turns
from readiness.signal.spectrum.mains import find_mains

pytestmark = pytest.mark.any_database
RATE = 1024.0
T = np.arange(10240) / RATE
LIFTED_S = {"A": (2.9, 4.6), "B": (5.4, 7.2)}


def turns(hum_uv: float = 300.0, rail_uv: float = 1e9, **factor_by_lead: complex) -> Turns:
    """Turns of a hum that is multiplied while a lead is lifted, cut at the rails."""
    factor = np.ones(len(T), complex)
    for lead, value in factor_by_lead.items():
        start, end = LIFTED_S[lead]
        factor[(start <= T) & (end > T)] = value
    wave = hum_uv * np.real(factor * np.exp(2j * np.pi * 50.0 * T))
    x = np.clip(wave, -rail_uv, rail_uv) + np.random.default_rng(3).normal(0, 1, len(T))
    return hum_turns(trace_of(x, RATE, find_mains(x, RATE)))


@pytest.mark.parametrize("rail_uv", [1e9, 100.0])
def test_the_lead_that_leaves_hum_in_its_place_is_the_open_one(rail_uv: float) -> None:
    assert turns(rail_uv=rail_uv, A=4 * np.exp(0.4j), B=-3).open_lead == "A"
    assert turns(rail_uv=rail_uv, A=-2 * np.exp(0.3j), B=1.5).open_lead == "B"


@pytest.mark.parametrize(
    ("factors", "lead"),
    [
        # A finger on the open lead's snap takes its hum away, in a phase of its own.
        ({"A": 0.1j, "B": -1.2}, "A"),
        ({"A": 0.4, "B": 1.6}, "B"),
        ({"A": 1.02, "B": 0.99}, None),
        ({"A": -2, "B": -3}, None),
    ],
)
def test_where_one_is_open_for_sure_its_hum_grows_or_does_not_turn(factors, lead) -> None:
    assert turns(**factors).open_of_two == lead


def test_nothing_is_said_where_both_turn_or_none_does_or_nothing_hums_before() -> None:
    assert turns(A=-2, B=-3).open_lead is None
    assert turns(A=2, B=3).open_lead is None
    assert turns(A=2, B=1j).open_lead is None
    assert turns(hum_uv=0.0) == NONE


def test_a_lead_lifted_in_the_still_part_is_nothing_to_compare_with() -> None:
    wave = 300 * np.sin(2 * np.pi * 50.0 * T) * np.where((T > 0.9) & (T < 5.1), 1, 0.001)
    x = wave + np.random.default_rng(3).normal(0, 1, len(T))
    found = hum_turns(trace_of(x, RATE, find_mains(x, RATE)))
    assert not found.same | found.turned
    assert found.open_of_two is None


def test_hum_cut_at_both_ends_still_tells_whose_lifting_makes_it_grow() -> None:
    """A square wave grows by parts in a thousand only: its edges get steeper."""
    factor = np.ones(len(T), complex)
    factor[(T > 2.9) & (T < 4.6)] = 0.8
    factor[(T > 5.4) & (T < 7.2)] = 1.6
    factor[(T > 7.9) & (T < 9.2)] = -3
    wave = 300 * np.real(factor * np.exp(2j * np.pi * 50.0 * T))
    x = np.clip(wave, -60, 60) + np.random.default_rng(3).normal(0, 0.1, len(T))
    found = hum_turns(trace_of(x, RATE, find_mains(x, RATE)))
    assert found.limited
    assert found.growth["B"] < 0.02
    assert found.grows == "B"
