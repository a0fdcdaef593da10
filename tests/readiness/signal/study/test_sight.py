"""The table of chances is counted from faulty kits."""

import json

import pytest

from readiness.signal.catalogue import CATALOGUE
from readiness.signal.simulator.captures import simulate
from readiness.signal.statistics.decision import FIT, NOT_FIT, RETEST
from readiness.signal.study import sight
from readiness.signal.study.cohort import Answer, Case
from readiness.signal.study.sight import Sight, chances_json, sights, was_seen

pytestmark = pytest.mark.any_database

UNPROVEN = Answer(RETEST, (("lead_unproven", "ground", RETEST),))


def test_an_unproven_ground_alone_is_no_sight_of_another_fault():
    low = Case("battery_low")
    assert was_seen(low, Answer(FIT, ())) is False
    assert was_seen(low, Answer(NOT_FIT, (("battery_low", None, NOT_FIT),))) is True
    assert was_seen(low, UNPROVEN) is False
    assert was_seen(Case("open_lead", "ground"), UNPROVEN) is True
    assert was_seen(Case("intermittent_lead", "ground"), UNPROVEN) is None


def test_a_kit_of_each_fault_is_looked_at_by_every_choice_of_tests(monkeypatch):
    cases = (Case("open_lead", "A"), Case("leads_shorted"))
    monkeypatch.setattr(sight, "FAULTY", cases)
    made = []
    monkeypatch.setattr(
        sight, "simulate", lambda test, *rest: made.append(test) or simulate(test, *rest)
    )
    look, shorted = sights(2, seed=3, workers=1)
    assert look.label == "open_lead A" and look.seen["still+flex+lift"] is True
    assert len(look.seen) == 30 and "ground" not in look.seen
    assert shorted.seen["still+flex"] is False and shorted.seen["still+flex+lift"] is True
    # All five of the sound kit and of the first fault; of the other two where it shows.
    assert made == [*CATALOGUE, *CATALOGUE, "lift", "worn"]


def test_the_table_counts_what_was_seen_and_of_how_many():
    looks = [
        Sight("clipped", "fast", "quiet", {"still": True, "flex": None}),
        Sight("clipped", "fast", "quiet", {"still": False, "flex": True}),
    ]
    stored = json.loads(chances_json(looks, seed=5))
    assert (stored["kits"], stored["seed"]) == (2, 5)
    assert stored["seen"]["still"] == {"clipped": {"fast quiet": [1, 2]}}
    assert stored["seen"]["flex"] == {"clipped": {"fast quiet": [1, 1]}}
