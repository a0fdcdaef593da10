"""Handing a parcel over, once, and taking that back."""

from datetime import timedelta

import pytest

from rentals.actions.dispatch import correct_tracking, dispatch, extend, note_sent_back, recall
from rentals.actions.issue import unassign
from rentals.actions.pack import pack, unpack
from rentals.actions.receive import (
    arrive,
)
from rentals.actions.register import mark_damaged
from rentals.models import Event
from rentals.verify import verify
from tests.factories import assigned_loan, packed_loan
from tests.rentals.actions.acts import events_after

pytestmark = pytest.mark.django_db


def test_acts_repeated_do_nothing_twice():
    loan = packed_loan()
    events = Event.objects.count()
    pack(loan.kit)
    assert Event.objects.count() == events
    dispatch(loan.kit)
    events = Event.objects.count()
    dispatch(loan.kit)
    arrive(loan.kit)
    arrive(loan.kit)
    assert Event.objects.count() == events + 1


def test_slips_can_be_undone():
    loan = packed_loan()
    dispatch(loan.kit)
    recall(loan.kit)
    unpack(loan.kit)
    unassign(loan.kit)
    loan.kit.refresh_from_db()
    assert (loan.kit.state, loan.kit.cleared) == ("shelf", True)
    assert verify() == []


def test_only_a_packed_kit_is_dispatched_and_only_one_that_is_away_comes_back_from_it():
    loan = assigned_loan()
    assert events_after(lambda: dispatch(loan.kit), "pack it before it is dispatched") == 0
    assert events_after(lambda: recall(loan.kit), "there is no dispatch to undo") == 0
    assert events_after(lambda: note_sent_back(loan, loan.due_on), "not with the student") == 0


def test_a_packed_kit_with_a_damaged_part_stays_here():
    loan = packed_loan()
    mark_damaged(loan.kit.parts.get(kind="charger"), "wet")
    assert events_after(lambda: dispatch(loan.kit), r"may not go out. Charger P\w+ is damaged") == 0


def test_a_parcel_under_way_has_its_number_without_blanks_and_a_new_day():
    loan = dispatch(packed_loan().kit, tracking_number=" 12 34 ", carrier=" Post ")
    assert (loan.tracking_number, loan.carrier) == ("1234", "Post")
    assert correct_tracking(loan, "").tracking_number == ""
    too_early = loan.post_by - timedelta(days=1)
    assert events_after(lambda: extend(loan, too_early), "before it is posted") == 0
    later = loan.due_on + timedelta(days=7)
    assert extend(loan, later).due_on == later
    assert note_sent_back(loan, later, tracking_number="9 9").return_tracking_number == "99"


def test_a_loan_that_has_ended_keeps_its_day():
    loan = assigned_loan()
    unassign(loan.kit)
    assert events_after(lambda: extend(loan, loan.due_on), "The loan has ended") == 0
