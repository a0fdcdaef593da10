"""A channel quieter than it can be: dead, or an open lead at its stop."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.bench_tests.at_its_stop import at_its_stop
from readiness.signal.bench_tests.lift import ZONES
from readiness.signal.bench_tests.view import View
from readiness.signal.leads.reaction import reaction_to
from readiness.signal.leads.turns import hum_turns
from readiness.signal.limits import Limits
from tests.readiness.signal.made import RATE, capture_of

pytestmark = pytest.mark.any_database
T = np.arange(round(10 * RATE)) / RATE
LIFTED_S = {"A": (2.9, 4.2), "B": (5.4, 6.8), "ground": (8.0, 9.2)}


def found_where(**hum_by_lead: complex):
    """What is said of a silent channel in which these hums stand while a lead is lifted."""
    hum = np.zeros(len(T), complex)
    for lead, value in hum_by_lead.items():
        start, end = LIFTED_S[lead]
        hum[(start <= T) & (end > T)] = value
    silent = np.random.default_rng(3).normal(0, 0.01, len(T))
    x = np.real(hum * np.exp(2j * np.pi * 50.0 * T)) + silent
    view = View(capture_of(x, "lift"), Limits(), "lift")
    reactions = {lead: reaction_to(view.trace, lead, zone) for lead, zone in ZONES.items()}
    return at_its_stop(view, reactions, hum_turns(view.trace))


def test_the_lead_beside_the_one_in_line_with_the_ground_is_named():
    found = found_where(A=2000, ground=4000)
    assert (found.lead, found.verdict) == ("B", "not fit")
    found = found_where(B=2000, ground=4000)
    assert (found.lead, found.verdict) == ("A", "not fit")


def test_a_channel_that_shows_the_ground_alone_lives_and_names_nothing():
    found = found_where(ground=4000)
    assert (found.lead, found.verdict) == (None, "retest")


def test_a_channel_that_shows_nothing_is_dead():
    assert found_where() is None
