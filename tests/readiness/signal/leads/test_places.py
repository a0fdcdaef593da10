"""What each lead's part shows, and a ground that answers in another lead's place."""

import numpy as np
import pytest

from readiness.signal.leads.places import heights_uv, in_grounds_place, none_is_open, one_is_open
from readiness.signal.leads.trace import trace_of
from readiness.signal.spectrum.mains import find_mains
from tests.readiness.signal.made import RATE, quiet

pytestmark = pytest.mark.any_database


def lifted(**millivolts):
    """A trace that leaves its place in each named lead's part, and comes back."""
    x = quiet(np.random.default_rng(3))
    for lead, mv in millivolts.items():
        start = {"A": 3.2, "B": 5.9, "ground": 8.6}[lead]
        x[round(start * RATE) : round((start + 0.7) * RATE)] += 1e3 * mv
    return trace_of(x, RATE, find_mains(x, RATE))


@pytest.mark.parametrize(
    ("millivolts", "place"),
    [
        ({"A": 5.0, "B": 6.0, "ground": 0.3}, None),
        ({"A": 0.1, "B": 6.0, "ground": 5.0}, "A"),
        ({"A": 5.0, "B": 0.0, "ground": 2.0}, "B"),
        # Shorted to the ground, or both leads to each other: nothing answers as an active lead.
        ({"A": 0.0, "B": 6.0, "ground": 0.4}, None),
        ({"A": 0.0, "B": 0.0, "ground": 0.8}, None),
    ],
)
def test_the_lead_in_whose_place_the_ground_was(millivolts, place):
    assert in_grounds_place(heights_uv(lifted(**millivolts))) == place


@pytest.mark.parametrize(
    ("millivolts", "is_open"),
    [
        ({"A": 5.0, "B": 6.0, "ground": 5.5}, True),
        ({"A": 5.0, "B": 6.0, "ground": 0.3}, False),
        ({"A": 0.0, "B": 0.0, "ground": 0.8}, False),
    ],
)
def test_a_ground_that_answers_as_the_active_leads_do(millivolts, is_open):
    assert one_is_open(heights_uv(lifted(**millivolts))) == is_open


@pytest.mark.parametrize(
    ("millivolts", "none_open"),
    [
        ({"A": 5.0, "B": 6.0, "ground": 0.3}, True),
        ({"A": 0.0, "B": 6.0, "ground": 0.3}, True),
        ({"A": 5.0, "B": 6.0, "ground": 5.5}, False),
        # Nothing leaves its place: a stage at its stop may hide all three.
        ({"A": 0.0, "B": 0.0, "ground": 0.0}, False),
    ],
)
def test_a_ground_that_hardly_answers_says_that_no_active_lead_is_open(millivolts, none_open):
    assert none_is_open(heights_uv(lifted(**millivolts))) == none_open


def test_a_quarter_second_that_ends_between_two_samples_may_hold_one_less():
    rate = 262.0
    x = np.zeros(round(10 * rate))
    x[round(3.2 * rate) :] = 400.0
    heights = heights_uv(trace_of(x, rate, find_mains(x, rate)))
    size = round(rate / 4)
    step = np.where(np.arange(size) < size // 2, 0.0, 400.0)
    level = step - np.polyval(np.polyfit(np.arange(size), step, 1), np.arange(size))
    assert heights["A"] == pytest.approx(np.ptp(level), rel=0.15)
    assert heights["B"] == pytest.approx(0.0, abs=1e-9)
