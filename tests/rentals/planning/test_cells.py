"""Whether cells last a loan, and by which day to look after them."""

from dataclasses import replace
from datetime import date, timedelta
from math import exp

import pytest

from rentals.planning.cells import (
    KINDS,
    CellPack,
    CellVerdict,
    Practising,
    days_until_empty,
    outlook,
)

pytestmark = pytest.mark.any_database

START = date(2027, 3, 1)
COURSE = Practising(40, 5, 20, START, START + timedelta(days=69))
NIMH = CellPack("nimh", 800)


def verdict(drain, pack=NIMH, rest=0):
    return outlook(pack, replace(COURSE, drain_ma=drain), START - timedelta(days=rest)).verdict


def test_use_alone_and_loss_alone_are_the_plain_quotients():
    assert days_until_empty(100, 0, 4) == 25
    assert days_until_empty(100, 0.01, 0) == float("inf")


@pytest.mark.parametrize("loss, use", [(0.01, 5.0), (0.002, 20.0), (0.03, 1.0)])
def test_the_days_are_those_of_a_charge_that_is_lost_and_used_hour_by_hour(loss, use):
    days = days_until_empty(600, loss, use)
    charge, hours = 600.0, 0
    while charge > 0:
        charge = charge * exp(-loss / 24) - use / 24
        hours += 1
    assert hours / 24 == pytest.approx(days, rel=0.002)


def test_the_more_is_drained_the_less_sure_it_is():
    drains = (5, 30, 45, 200)
    assert [verdict(drain) for drain in drains] == list(CellVerdict)


def test_the_cautious_never_hope_more():
    for chemistry in KINDS:
        lasts = outlook(CellPack(chemistry), COURSE, START).lasts
        assert lasts.cautious <= lasts.likely <= lasts.hopeful


def test_rest_age_and_capacity_count():
    def likely(pack=NIMH, rest=0):
        return outlook(pack, COURSE, START - timedelta(days=rest)).lasts.likely

    assert likely(rest=30) < likely()
    assert likely(replace(NIMH, charges=300)) < likely()
    assert likely(replace(NIMH, capacity_mah=1000)) > likely()
    assert likely(CellPack("alkaline"), rest=30) == pytest.approx(
        likely(CellPack("alkaline")), abs=1
    )
    assert likely(replace(NIMH, charges=100_000)) > 0


def test_cells_are_to_be_charged_by_the_last_cautious_day_and_again_until_the_course_ends():
    answer = outlook(NIMH, replace(COURSE, drain_ma=60), START - timedelta(days=10))
    assert answer.act_on == START + timedelta(days=answer.lasts.cautious - 1)
    assert answer.every >= answer.lasts.cautious
    assert answer.next_on(START) == answer.act_on
    second = answer.next_on(answer.act_on + timedelta(days=1))
    assert second == answer.act_on + timedelta(days=max(answer.every, 14))
    assert answer.next_on(COURSE.ends_on + timedelta(days=1)) is None
    assert outlook(NIMH, replace(COURSE, drain_ma=5), START).next_on(START) is None


def test_what_cannot_be_is_refused():
    with pytest.raises(ValueError, match="no chemistry"):
        outlook(CellPack("lead"), COURSE, START)
    with pytest.raises(ValueError, match="0 mA cannot be"):
        outlook(NIMH, replace(COURSE, drain_ma=0), START)
