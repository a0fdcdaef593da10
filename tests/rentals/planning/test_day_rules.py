"""Which destination's days count, and in whose working days."""

from datetime import date

import pytest

from rentals.planning.calendar import Margins, Transit, Turnaround
from rentals.planning.day_rules import ABROAD, HOME, DayRules

pytestmark = pytest.mark.any_database

NO_MARGINS = Margins(spare=0, to_send=0)


def test_a_country_counts_by_its_own_row_else_as_home_or_abroad() -> None:
    rules = DayRules("DE", {HOME: (1, 2), ABROAD: (5, 9), "ES": (4, 4)})
    assert rules.transit("ES") == Transit(4, 4, "Spain")
    assert rules.transit("SE") == Transit(5, 9, "Sweden")
    assert rules.transit("DE") == rules.transit("") == Transit(1, 2, "Germany")


def test_before_anything_is_set_the_usual_days_count() -> None:
    rules = DayRules()
    assert (rules.transit().out, rules.transit("ES").out) == (2, 6)
    assert rules.transit().place == ""


def test_the_way_counts_holidays_of_both_ends_and_the_turnaround_only_those_here() -> None:
    rules = DayRules("DE", {ABROAD: (1, 1), HOME: (1, 1)}, NO_MARGINS, Turnaround(1, 0, 0, 0, 0))
    epiphany = date(2026, 1, 6)
    assert rules.back_by(date(2026, 1, 5), "ES").day == date(2026, 1, 7)
    assert rules.back_by(date(2026, 1, 5)).day == epiphany
    assert rules.free_again(date(2026, 1, 5)).day == epiphany
    assert rules.post_by(date(2026, 1, 7), "ES").day == date(2026, 1, 5)


def test_the_next_working_day_leaps_over_weekend_and_holiday() -> None:
    assert DayRules("DE").next_working_day(date(2026, 4, 2)) == date(2026, 4, 7)
