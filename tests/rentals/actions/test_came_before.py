"""A part that came in another parcel is back on its own loan once that is received."""

import pytest

from rentals import transaction
from rentals.actions.dispatch import dispatch
from rentals.actions.found import keep_aside
from rentals.actions.receive import arrive, finish_check, write_off
from rentals.actions.receive_rest import note_rest_back
from rentals.verify import verify
from tests.factories import packed_loan
from tests.rentals.actions.test_found import parcel_with

pytestmark = pytest.mark.django_db


def test_it_waits_and_is_counted_back_and_nobody_pays_for_it():
    loan = dispatch(packed_loan().kit)
    leads = loan.kit.parts.get(kind="lead_set")
    thing = keep_aside(parcel_with(leads), "tray 3")
    assert thing.state == "waiting"
    assert f"still with {loan.enrolment.student.name}" in thing.belongs_to
    check = arrive(loan.kit)
    line = check.lines.get(packing_line__part=leads)
    assert line.outcome == "back" and line.note.endswith("lies: tray 3.")
    for part in check.lines.filter(packing_line__part__isnull=False).exclude(pk=line.pk):
        part.outcome, part.quantity_back, part.charged = "back", 1, True
        with transaction.atomic():
            part.save()
    note_rest_back(check, cleaned=True, charged=True)
    finish_check(check)
    thing.refresh_from_db()
    assert (thing.state, loan.shortfalls.count()) == ("moved", 0)
    assert verify() == []


def test_of_a_kit_that_is_given_up_it_is_a_spare_and_no_shortfall():
    loan = dispatch(packed_loan().kit)
    leads = loan.kit.parts.get(kind="lead_set")
    parcel_with(leads)
    write_off(loan.kit, reason="parcel lost in the post")
    assert not loan.shortfalls.filter(packing_line__part=leads).exists()
    leads.refresh_from_db()
    assert (leads.place, leads.kit) == ("spare", None)
