"""Lead sets as the plan looks at them, from the rows."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import write_off
from rentals.dates import short_date
from rentals.models import ContentsLine, Part
from rentals.planning.lead_life import LeadSetLife, PlannedLoans
from rentals.selectors.lead_sets import lead_set_price, lead_sets, planned_lead_loans
from tests.factories import EnrolmentFactory, complete_kit, packed_loan, spare

pytestmark = pytest.mark.django_db


def test_a_set_counts_the_loans_it_has_come_to_the_end_of():
    today = timezone.localdate()
    loan = packed_loan()
    leads = loan.kit.parts.get(kind="lead_set")
    Part.objects.filter(pk=leads.pk).update(bought_on=today - timedelta(days=61))
    dispatch(loan.kit)
    (row,) = lead_sets(today)
    assert (row.life.loans, row.life.ended, row.life.spare) == (0, False, False)
    assert row.life.months == pytest.approx(2, abs=0.01)
    write_off(loan.kit, reason="not heard of")
    spare("lead_set")
    lost, ready = lead_sets(today)
    assert (lost.life.loans, lost.life.cause) == (1, "lost")
    assert lost.ended_words == f"{short_date(today)}, lost"
    assert ready.life == LeadSetLife(0, 0.0, spare=True)
    assert ready.since == today


def test_runs_take_a_set_for_each_parcel_that_is_to_be_packed():
    kit = complete_kit()
    run = EnrolmentFactory(run__kit_type=kit.kit_type).run
    EnrolmentFactory(run=run)
    ContentsLine.objects.filter(part_kind="lead_set").update(quantity=2)
    today = timezone.localdate()
    assert planned_lead_loans(today) == [PlannedLoans(run.name, 4, run.return_by)]
    assert planned_lead_loans(date(2020, 1, 1)) == []


def test_the_price_is_that_of_the_list_most_kits_are_built_to():
    assert lead_set_price() == 0
    first = complete_kit().kit_type
    complete_kit(complete_kit().kit_type)
    ContentsLine.objects.filter(kit_type=first).update(replacement_price=Decimal(99))
    assert lead_set_price() == Decimal("45.000")
