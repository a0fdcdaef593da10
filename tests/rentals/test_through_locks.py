"""An act that meets a lock is tried again, and nothing else is."""

import pytest
from django.db import OperationalError, transaction

from rentals.through_locks import is_lock, through_locks

LOCKED = "database is locked"


class Clock:
    """Time that passes only by resting."""

    def __init__(self) -> None:
        self.now = 0.0
        self.rests: list[float] = []

    def time(self) -> float:
        return self.now

    def rest(self, seconds: float) -> None:
        self.rests.append(seconds)
        self.now += seconds


class Act:
    """Refused by a lock a number of times, then done."""

    def __init__(self, refusals: int, words: str = LOCKED) -> None:
        self.refusals, self.words, self.tries = refusals, words, 0

    def __call__(self) -> str:
        self.tries += 1
        if self.tries <= self.refusals:
            raise OperationalError(self.words)
        return "done"


def _tried(act: Act, longest_s: float = 10) -> Clock:
    clock = Clock()
    assert through_locks(act, longest_s=longest_s, clock=clock.time, rest=clock.rest) == "done"
    return clock


@pytest.mark.any_database
def test_it_rests_longer_each_time_and_not_for_ever():
    act = Act(8)
    clock = _tried(act)
    assert act.tries == 9
    assert clock.now <= 10
    assert max(clock.rests) <= 1
    with pytest.raises(OperationalError, match=LOCKED):
        _tried(Act(10_000))


@pytest.mark.any_database
def test_what_is_no_lock_is_not_tried_again():
    act = Act(1, "no such table: kits")
    with pytest.raises(OperationalError, match="no such table"):
        _tried(act)
    assert act.tries == 1
    assert not is_lock(ValueError(LOCKED))


@pytest.mark.django_db(transaction=True)
def test_inside_a_transaction_of_somebody_else_it_is_tried_once():
    act = Act(1)
    with pytest.raises(OperationalError), transaction.atomic():
        _tried(act)
    assert act.tries == 1
    assert _tried(Act(1)).rests


def test_postgres_names_a_deadlock_by_its_number():
    class Crossed(Exception):
        sqlstate = "40P01"

    problem = OperationalError("deadlock detected")
    problem.__cause__ = Crossed()
    assert is_lock(problem)
