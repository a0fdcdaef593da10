"""What a loan costs, recomputed by hand from prices of the contents list."""

from datetime import date
from decimal import Decimal

import pytest

from rentals.actions.register import place_part
from rentals.actions.settle import charge, recover
from rentals.models import StockItem
from rentals.reports.scope import ReportScope
from rentals.selectors.reports.costs import cost_total, costs_by_loan, costs_by_run, lead_set_cost
from tests.factories import EnrolmentFactory, spare

from .ended import ended_loan

pytestmark = pytest.mark.django_db


def test_costs_are_parts_stock_and_wear_less_what_was_charged():
    dear = ended_loan("charger", "lead_set", "band")
    cheap = ended_loan(enrolment=EnrolmentFactory(run=dear.enrolment.run))
    StockItem.objects.filter(kind="electrodes").update(pack_size=100, pack_price=Decimal(50))
    by_kind = {each.packing_line.part_kind: each for each in dear.shortfalls.all()}
    charge(by_kind["charger"], Decimal(10))
    recover(by_kind["band"])
    # Two loans, no set has ended: (0 + 0.5) failures in (2 + 10) loans of a set at 45.
    wear = Decimal(45) * Decimal(str(0.5 / 12))
    lead_set = lead_set_cost()
    assert lead_set.mean == pytest.approx(wear)
    total = cost_total(ReportScope(), lead_set)
    assert (total.parts, total.stock, total.borne.charged) == (10, 24, 10)
    assert total.total == pytest.approx(24 + 2 * wear)
    loans = costs_by_loan(ReportScope())
    rows = {row[0].words: row for row in loans.rows_of(list(loans.things))}
    assert rows[dear.kit.code][-1] == pytest.approx(12 + wear)
    assert rows[cheap.kit.code][-1] == pytest.approx(12 + wear)
    assert rows[dear.kit.code][2] == date(2026, 5, 21)
    runs = costs_by_run(ReportScope())
    (row,) = runs.rows_of(list(runs.things))
    assert row[1] == 2
    assert row[-1] == pytest.approx(total.each)
    assert "a loan cost €13.8" in runs.sentence
    assert runs.chart_of([row]).words.endswith(", 2 loans")
    causes = dict(loans.twin.rows)
    assert causes["Stock used"] == 12
    assert causes["Borne by students"] == -5
    assert "Wear of lead sets" in loans.chart_of([]).words


def test_parts_worn_out_are_said_and_borne_by_no_loan():
    assert lead_set_cost() is None
    ended_loan()
    place_part(spare("charger"), "retired", cause="worn")
    report = costs_by_run(ReportScope())
    assert report.basis[-1].startswith("1 part other than a lead set was put out of use")
    long_ago = ReportScope(since=date(2000, 1, 1), until=date(2001, 1, 1))
    assert not any("worn out" in sentence for sentence in costs_by_run(long_ago).basis)
    assert costs_by_run(long_ago).sentence == ""
