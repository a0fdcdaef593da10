"""The weeks that the plan shows."""

from datetime import date

import pytest

from rentals.planning.plan_window import PlanWindow, usual_start, window_of

pytestmark = pytest.mark.any_database
THURSDAY = date(2027, 3, 11)


def test_an_address_names_any_day_of_its_first_week() -> None:
    window = window_of("2027-05-05", "6", THURSDAY)
    assert window == PlanWindow(date(2027, 5, 3), 6)
    assert (window.end, len(window.mondays)) == (date(2027, 6, 14), 6)
    assert (window.earlier, window.later) == (date(2027, 4, 12), date(2027, 5, 24))


@pytest.mark.parametrize(
    ("start", "weeks"),
    [("", ""), ("soon", "many"), ("9999-12-31", "0"), ("0001-01-01", "999"), ("1990-01-01", "7")],
)
def test_what_cannot_be_shown_gives_the_usual_weeks(start: str, weeks: str) -> None:
    usual = window_of(start, weeks, THURSDAY)
    assert usual == PlanWindow(date(2027, 2, 22), 12)
    assert usual.start == usual_start(THURSDAY)


def test_a_span_meets_the_window_with_a_day_at_least() -> None:
    window = PlanWindow(date(2027, 3, 1), 2)
    assert window.meets(date(2027, 2, 1), date(2027, 3, 2))
    assert not window.meets(date(2027, 2, 1), date(2027, 3, 1))
    assert not window.meets(date(2027, 3, 15), date(2027, 4, 1))
