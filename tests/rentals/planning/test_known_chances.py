"""Chances that are known are those that would be worked out anew, and none is worked out twice."""

from datetime import date, timedelta

import numpy as np
import pytest

from rentals.planning import known_chances
from rentals.planning.bench_chance import BenchRecord
from rentals.planning.known_chances import SEED, known_chance, known_lateness
from rentals.planning.lateness import PastLoan
from rentals.planning.lateness_law import learn_lateness
from rentals.planning.run_chance import ComingKit, run_chance

TODAY = date(2027, 3, 1)
BENCH = BenchRecord(40, 10)


def _day(number: int) -> date:
    return TODAY + timedelta(days=number)


def _past(number: int = 30) -> tuple[PastLoan, ...]:
    """Loans of three runs; of the last some are still out, and some of these are posted."""
    ended = [PastLoan(n % 2, _day(-90), _day(-30), _day(-30 + n % 9)) for n in range(number)]
    out = [PastLoan(2, _day(-40), _day(5)) for _ in range(3)]
    posted = [PastLoan(2, _day(-40), _day(5), sent_back_on=_day(-n)) for n in range(2)]
    return (*ended, *out, *posted)


def _coming() -> tuple[ComingKit, ...]:
    out = [loan for loan in _past() if loan.ended_on is None]
    back_by = [ComingKit(f"K{n}", _day(6), loan) for n, loan in enumerate(out)]
    return (*back_by, ComingKit("K8", _day(3)), ComingKit("K9", _day(3), refused=True))


@pytest.fixture(autouse=True)
def nothing_known():
    known_lateness.cache_clear()
    known_chance.cache_clear()


@pytest.mark.parametrize("by_kit", [True, False])
def test_a_known_chance_is_that_of_the_law_learnt_anew(by_kit: bool):
    for need in (2, 4, 2):
        law = learn_lateness(_past(), TODAY, np.random.default_rng(SEED), 50)
        anew = run_chance(need, 1, _coming(), law, BENCH, by_kit=by_kit)
        known = known_chance(need, 1, _coming(), known_lateness(_past(), TODAY, 50), BENCH, by_kit)
        assert known == anew


def test_the_same_facts_are_looked_at_once(monkeypatch):
    asked = []
    for name in ("learn_lateness", "run_chance"):
        found = getattr(known_chances, name)

        def counted(*facts, found=found, name=name, **more):
            asked.append(name)
            return found(*facts, **more)

        monkeypatch.setattr(known_chances, name, counted)
    for _ in range(3):
        # Other objects each time, as a page has them that has read the database.
        known_chance(3, 1, _coming(), known_lateness(_past(), TODAY, 50), BENCH, True)
    assert asked == ["learn_lateness", "run_chance"]
    known_chance(3, 1, _coming(), known_lateness(_past(31), TODAY, 50), BENCH, True)
    known_chance(3, 1, _coming(), known_lateness(_past(31), _day(1), 50), BENCH, True)
    known_chance(3, 1, _coming(), known_lateness(_past(31), _day(1), 50), BenchRecord(), True)
    assert asked == ["learn_lateness", "run_chance"] * 3 + ["run_chance"]


def test_a_law_from_its_start_draws_the_same_again():
    law = known_lateness(_past(), TODAY, 50)
    loan = next(loan for loan in _past() if loan.ended_on is None)
    first, second = law.from_start(), law.from_start()
    for fresh in (first, second):
        assert fresh.on_its_way is not None and fresh.on_its_way.rng is fresh.rng
    drawn = [fresh.back_by(loan, _day(6)) for fresh in (first, second)]
    assert np.array_equal(*drawn) and drawn[0].std() > 0
    assert not law._factors and not law._kinds
