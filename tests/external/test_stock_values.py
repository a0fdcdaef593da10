"""Reordering against worked handbook values (rows L8 to L10), and by simulation."""

from datetime import date, timedelta

import numpy as np
import pytest

from rentals.planning.reordering import (
    LeadTime,
    RunUse,
    UseRate,
    economic_quantity,
    reorder_point,
    safety_stock,
    use_rate,
)
from rentals.planning.stock_forecast import OrderTerms, PlannedNeed, forecast
from rentals.planning.stock_need import Lot, StockNeed

pytestmark = pytest.mark.any_database

DAY = date(2027, 1, 4)


def test_newsvendor_order_up_to_the_critical_quantile():
    """L8, any text of operations research: a piece too few costs 5, one too many 3; N(100, 20)."""
    one_period = LeadTime(1)
    assert reorder_point(UseRate(100, 20), one_period, 5 / (5 + 3)) == pytest.approx(
        106.373, abs=5e-4
    )


def test_reorder_point_with_safety_stock():
    """L9, textbook formula: 10 a day give or take 3, four days, 95 %; then give or take a day."""
    use = UseRate(10, 3)
    assert reorder_point(use, LeadTime(4), 0.95) == pytest.approx(49.869, abs=5e-4)
    assert reorder_point(use, LeadTime(4, 1), 0.95) == pytest.approx(59.182, abs=5e-4)
    assert safety_stock(use, LeadTime(4), 0.95) == pytest.approx(1.644854 * 6, abs=1e-4)


def test_economic_order_quantity():
    """L10, Harris 1913: 1,200 a year, 50 an order, 6 to keep a piece for a year."""
    assert economic_quantity(1200, 50, 6) == pytest.approx(141.421, abs=5e-4)


def test_at_the_reorder_point_stock_reaches_as_often_as_stated():
    chance = np.random.default_rng(1)
    use, lead = UseRate(10, 3), LeadTime(4, 1)
    days = np.clip(chance.normal(lead.days, lead.spread, 100_000), 0, None)
    used = chance.normal(use.mean * days, use.spread * np.sqrt(days))
    for service in (0.8, 0.9, 0.95):
        reached = np.mean(used <= reorder_point(use, lead, service))
        assert reached == pytest.approx(service, abs=0.01)


def test_runs_are_served_about_as_often_as_stated():
    """Seasons of runs of which only the next is planned, its students known only roughly, with
    orders that take longer or shorter: the hardest case, because each order is for one run.
    """
    chance = np.random.default_rng(7)
    served = [reached for _ in range(60) for reached in _season(chance)]
    assert len(served) == 480
    assert 0.93 <= np.mean(served) <= 0.98


def _season(chance, runs=8, gap=49, students=20, a_parcel=24):
    """Whether each run of a season was served in full by orders on the stated days."""
    terms = OrderTerms(LeadTime(7, 2), 0.95, pack_size=10)
    past = [
        RunUse(DAY - timedelta(days=gap * (back + 1)), pieces, pieces)
        for back, pieces in enumerate(a_parcel * chance.poisson(students, 5))
    ]
    expected = students * a_parcel
    here, today, comes, ordered = expected, DAY, None, 0
    reached = []
    for run in range(runs):
        post = DAY + timedelta(days=30 + gap * run)
        while True:
            need = PlannedNeed(StockNeed(run, 1, expected, post + timedelta(days=60)), post)
            rate = use_rate(past, [RunUse(post, expected, expected)], a_parcel)
            under_way = [Lot(ordered, here_from=comes)] if comes else []
            answer = forecast([need], [Lot(here), *under_way], rate, terms, today)
            if comes is None and answer.order_by is not None and answer.order_by < post:
                today = max(today, answer.order_by)
                ordered = answer.pieces
                took = max(1, round(chance.normal(terms.lead.days, terms.lead.spread)))
                comes = today + timedelta(days=took)
            if comes is None or comes > post:
                break
            here, today, comes = here + ordered, comes, None
        used = a_parcel * chance.poisson(students)
        reached.append(used <= here)
        here, today = max(here - used, 0), post + timedelta(days=1)
        past.append(RunUse(post, used, used))
    return reached
