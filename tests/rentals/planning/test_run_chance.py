from datetime import date, timedelta

import numpy as np
import pytest

from rentals.planning.bench_chance import BenchRecord
from rentals.planning.lateness import PastLoan
from rentals.planning.lateness_law import learn_lateness
from rentals.planning.run_chance import ComingKit, run_chance

pytestmark = pytest.mark.any_database

TODAY = date(2027, 6, 7)
POST_BY = TODAY + timedelta(days=14)


def chance_of(need, sure, kits, record=None):
    """Chances where all past kits were back on their due day."""
    due = TODAY - timedelta(days=90)
    loans = [PastLoan(run, due - timedelta(60), due, due) for run in range(10) for _ in range(5)]
    law = learn_lateness(loans, TODAY, np.random.default_rng(1), 300)
    return run_chance(need, sure, kits, law, record or BenchRecord(90, 10))


def out(code, due_in, run=99):
    due = TODAY + timedelta(days=due_in)
    return ComingKit(code, POST_BY, PastLoan(run, due - timedelta(days=60), due))


def here(code, in_time=True):
    return ComingKit(code, POST_BY if in_time else None)


def test_enough_kits_on_the_shelf_need_no_luck():
    chance = chance_of(3, 4, [])
    assert chance.serve_all == 1
    assert chance.spares == 0
    assert chance_of(3, 4, [out("K1", 5)]).serve_all == 1


def test_too_few_kits_can_never_serve_all():
    chance = chance_of(4, 1, [out("K1", 5)])
    assert chance.serve_all == 0
    assert chance.spares == 3
    assert chance.safe_number(0.9) == 1


def test_a_kit_here_waits_for_the_bench_only():
    chance = chance_of(1, 0, [here("K1")])
    assert chance.serve_all == pytest.approx(94 / 105, abs=0.01)
    assert chance.kits[0].gain == pytest.approx(11 / 105, abs=0.01)
    assert chance_of(1, 0, [here("K1", in_time=False)]).serve_all == 0


def test_the_kit_that_is_due_too_late_is_the_one_to_chase():
    """Chasing helps as far as the kit may still fail the bench."""
    chance = chance_of(2, 0, [out("EARLY", 3), out("LATE", 20)])
    assert [kit.kit.code for kit in chance.kits] == ["LATE", "EARLY"]
    late, early = chance.kits
    assert late.back < 0.3 < 0.9 < early.back
    assert late.ready < late.back
    assert chance.serve_all + late.gain == pytest.approx(early.ready * 0.9, abs=0.05)


def test_kits_that_are_alike_gain_alike_and_all_are_listed():
    chance = chance_of(3, 1, [out(f"K{number}", 4) for number in range(4)])
    assert len(chance.kits) == 4
    assert len({kit.gain for kit in chance.kits}) == 1
    assert sum(chance.law) == pytest.approx(1)
    assert len(chance.law) == 6
