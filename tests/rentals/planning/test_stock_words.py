"""The sentence that says why an item is to be bought."""

from datetime import date, timedelta

import pytest

from rentals.planning.reordering import NO_USE, LeadTime, UseRate
from rentals.planning.stock_forecast import OrderTerms, PlannedNeed, forecast
from rentals.planning.stock_need import Lot, StockNeed
from rentals.planning.stock_words import urgency, why

pytestmark = pytest.mark.any_database

TODAY = date(2027, 3, 1)
POST = date(2027, 3, 31)
NEED = PlannedNeed(StockNeed(4, 1, 50, POST + timedelta(days=60)), POST)
WITHOUT_RESERVE = OrderTerms(LeadTime(10), service=0.25, floor=3)


def said(needs=(NEED,), lots=(), use=NO_USE, terms=WITHOUT_RESERVE, today=TODAY):
    answer = forecast(needs, lots, use, terms, today)
    return why(answer, terms, {4: "Spring run"}, today)


def test_what_lacks_names_the_run_the_day_and_what_is_too_old():
    lots = [Lot(10), Lot(70, POST)]
    assert said(lots=lots) == (
        "Spring run needs 50 by 31 Mar 2027 and 10 will be here; 70 more expire before 30 May 2027."
    )


def test_once_the_day_to_order_has_come_it_says_how_long_an_order_takes():
    assert said(today=date(2027, 3, 21)).endswith("; an order takes up to 10 days.")
    assert "order takes" not in said(today=date(2027, 3, 20))


def test_an_order_that_may_come_after_the_parcels_are_posted_says_so():
    late = date(2027, 3, 22)
    assert said(today=late).endswith(" 10 days and may come too late for Spring run.")
    use, terms = UseRate(2.0, 3.0, 49.0), OrderTerms(LeadTime(10), 0.95, floor=3)
    reserve = said(lots=[Lot(70)], use=use, terms=terms, today=late)
    assert reserve.endswith(" and may come only after Spring run is posted.")


def test_the_day_to_order_by_is_marked_once_it_has_come():
    days = [None, date(2027, 2, 28), TODAY, date(2027, 3, 2)]
    assert [urgency(day, TODAY) for day in days] == ["", "overdue", "today", ""]


def test_the_reserve_the_floor_and_the_usual_runs_each_have_their_sentence():
    use, terms = UseRate(2.0, 3.0, 49.0), OrderTerms(LeadTime(4), 0.95, floor=3)
    assert said(lots=[Lot(70)], use=use, terms=terms) == (
        "Spring run leaves 20, fewer than the 42 to be in reserve."
    )
    assert said([], [Lot(3)]) == "3 are here, at or below your own reorder point of 3."
    assert said([], [Lot(1)]) == "1 is here, at or below your own reorder point of 3."
    assert said([], [Lot(9)], use, terms).startswith("No run is planned, but 9 are too few")
    assert said(lots=[Lot(50)]).startswith("Enough for all runs")
    assert said([], [Lot(9)]) == "No run of the next half year needs it."
