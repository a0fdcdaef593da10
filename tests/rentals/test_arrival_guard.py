"""The database refuses a shortfall over what never arrived, behind every action's back."""

import pytest
from django.db import DatabaseError, transaction
from django.utils import timezone

from rentals import arrival_guard
from rentals.models import ArrivalLine, Shortfall
from rentals.planning.arrival import Arrived
from tests.rentals.arrivals import loan_with_arrival

pytestmark = pytest.mark.django_db


def _shortfall(loan, kind_of_part, kind):
    line = loan.packing_lines.get(part_kind=kind_of_part)
    return Shortfall(
        loan=loan, packing_line=line, kind=kind, quantity=line.quantity, opened_at=timezone.now()
    )


def refused(act):
    with pytest.raises(DatabaseError), transaction.atomic():
        act()


def test_no_shortfall_over_what_was_missing_or_damaged_on_arrival():
    loan = loan_with_arrival(charger=Arrived(missing=1), amplifier=Arrived(damaged=1))
    refused(_shortfall(loan, "charger", "missing").save)
    refused(_shortfall(loan, "charger", "damaged").save)
    refused(_shortfall(loan, "amplifier", "damaged").save)
    lost = _shortfall(loan, "amplifier", "missing")
    lost.save()
    lost.kind = "damaged"
    refused(lost.save)


def test_no_more_is_missing_than_went_out():
    loan = loan_with_arrival()
    line = ArrivalLine.objects.filter(packing_line__loan=loan).first()
    line.missing = line.packing_line.quantity + 1
    refused(line.save)


def test_the_guards_go_and_come_with_a_migration():
    loan = loan_with_arrival(charger=Arrived(missing=1))
    arrival_guard.take_down_before_migrating("default")
    arrival_guard.put_up_after_migrating("default")
    arrival_guard.put_up()
    refused(_shortfall(loan, "charger", "missing").save)
