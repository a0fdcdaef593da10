"""Whether stock reaches for the runs planned, by which day to order, and how much."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rentals.planning.reordering import NO_USE, LeadTime, UseRate
from rentals.planning.stock_forecast import (
    ComingBack,
    OrderCause,
    OrderTerms,
    PlannedNeed,
    forecast,
)
from rentals.planning.stock_need import Lot, StockNeed

pytestmark = pytest.mark.any_database

TODAY = date(2027, 3, 1)
GEL = 1
SURE = OrderTerms(LeadTime(10), service=0.25)
"""Terms without any reserve: each of two things as often goes wrong as well."""


def day(number):
    return TODAY + timedelta(days=number)


def need(pieces, by, loan=60, back=None):
    return PlannedNeed(StockNeed(by, GEL, pieces, day(by + loan)), day(by), back)


def test_stock_that_reaches_is_not_ordered():
    answer = forecast([need(100, 20), need(50, 90)], [Lot(150)], NO_USE, SURE, TODAY)
    assert (answer.cause, answer.order_by, answer.packs) == (OrderCause.ENOUGH, None, 0)
    assert (answer.here, answer.needed, answer.needed_by) == (150, 150, day(20))


def test_what_lacks_is_ordered_so_that_it_comes_in_time_in_whole_packs():
    terms = OrderTerms(LeadTime(10), 0.25, pack_size=30, pack_price=Decimal("4.50"))
    answer = forecast([need(100, 20), need(50, 90)], [Lot(110)], NO_USE, terms, TODAY)
    assert (answer.cause, answer.order_by) == (OrderCause.LACKS, day(80))
    assert (answer.pieces, answer.packs, answer.cost) == (60, 2, Decimal("9.00"))
    assert not answer.is_due(TODAY)
    assert answer.is_due(day(80))


def test_the_day_to_order_may_have_passed():
    answer = forecast([need(100, 5)], [], NO_USE, SURE, TODAY)
    assert answer.order_by == day(-5)


def test_pieces_that_do_not_last_the_loan_do_not_count():
    lots = [Lot(100, day(79)), Lot(20, day(80)), Lot(30, day(-1))]
    answer = forecast([need(60, 20)], lots, NO_USE, SURE, TODAY)
    assert (answer.here, answer.pieces, answer.too_old) == (120, 40, 100)


def test_what_comes_back_serves_later_runs_less_what_is_lost():
    back = ComingBack(day(65), 0.9)
    later = [need(20, 10, back=back), need(20, 70, back=back)]
    assert forecast(later, [Lot(22)], NO_USE, SURE, TODAY).cause == OrderCause.ENOUGH
    answer = forecast(later, [Lot(20)], NO_USE, SURE, TODAY)
    assert (answer.short, answer.pieces) == (later[1], 2)
    sooner = [need(20, 10, back=back), need(20, 64, back=back)]
    assert forecast(sooner, [Lot(22)], NO_USE, SURE, TODAY).pieces == 18


def test_pieces_under_way_serve_only_what_is_posted_after_they_are_here():
    lots = [Lot(10), Lot(10, here_from=day(30))]
    assert forecast([need(10, 5), need(10, 30)], lots, NO_USE, SURE, TODAY).packs == 0
    assert forecast([need(10, 5), need(10, 29)], lots, NO_USE, SURE, TODAY).pieces == 10


def test_the_reserve_is_left_after_each_run():
    use, terms = UseRate(2.0, 3.0, 49.0), OrderTerms(LeadTime(4), 0.95)
    answer = forecast([need(100, 40)], [Lot(120)], use, terms, TODAY)
    assert (answer.cause, answer.reserve, answer.pieces) == (OrderCause.RESERVE, 42, 22)


def test_the_owners_own_floor_counts_today():
    terms = OrderTerms(LeadTime(4), 0.25, floor=10)
    answer = forecast([], [Lot(10)], NO_USE, terms, TODAY)
    assert (answer.cause, answer.order_by, answer.pieces) == (OrderCause.FLOOR, TODAY, 1)
    assert forecast([], [Lot(11)], NO_USE, terms, TODAY).cause == OrderCause.NOT_USED
    of_a_run = forecast([], [Lot(10)], UseRate(1, 0, 50), terms, TODAY)
    assert of_a_run.pieces == 50


def test_without_a_plan_the_usual_runs_count():
    use, terms = UseRate(10, 3), OrderTerms(LeadTime(4, 1), 0.95, floor=5)
    assert forecast([], [Lot(61)], use, terms, TODAY).cause == OrderCause.ENOUGH
    answer = forecast([], [Lot(60)], use, terms, TODAY)
    assert (answer.cause, answer.reorder_at) == (OrderCause.UNPLANNED, 60)


def test_the_economic_quantity_is_taken_where_prices_are_set_but_no_more_than_keeps():
    use = UseRate(2.0, 0.0, 50)
    dear = OrderTerms(
        LeadTime(4), 0.25, pack_size=10, pack_price=Decimal(40), order_cost=Decimal(9)
    )
    answer = forecast([need(30, 10)], [Lot(10)], use, dear, TODAY)
    # sqrt(2 * 730 * 9 / (4.00 * 0.25)) = 114.6
    assert (answer.pieces, answer.packs, answer.cost) == (120, 12, Decimal(480))
    spoils = OrderTerms(LeadTime(4), 0.25, pack_price=Decimal(4), order_cost=Decimal(9), keeps=30)
    assert forecast([need(30, 10)], [Lot(10)], use, spoils, TODAY).pieces == 60


def test_a_batch_bought_now_is_not_bought_for_runs_it_would_not_last_for():
    terms = OrderTerms(LeadTime(10), 0.25, keeps=120)
    far = [need(20, 20), need(20, 150)]
    assert forecast(far, [], NO_USE, terms, TODAY).pieces == 20


@settings(max_examples=50, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.lists(st.tuples(st.integers(1, 60), st.integers(0, 150)), min_size=1, max_size=6),
    st.lists(st.tuples(st.integers(0, 80), st.integers(0, 250)), max_size=4),
    st.floats(0, 4),
)
def test_with_what_is_ordered_nothing_lacks_any_more(planned, on_the_shelf, spread):
    needs = [need(pieces, by) for pieces, by in sorted(planned, key=lambda row: row[1])]
    lots = [Lot(pieces, day(last)) for pieces, last in on_the_shelf]
    use, terms = UseRate(1.0, spread, 20.0), OrderTerms(LeadTime(7, 2), 0.95)
    answer = forecast(needs, lots, use, terms, TODAY)
    after = forecast(needs, [*lots, Lot(answer.pieces)], use, terms, TODAY)
    assert after.short is None
    if answer.short is not None and answer.pieces > 1:
        fewer = forecast(needs, [*lots, Lot(answer.pieces - 1)], use, terms, TODAY)
        assert fewer.short is not None or answer.here <= terms.floor
