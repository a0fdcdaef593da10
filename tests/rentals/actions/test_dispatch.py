"""Handing a parcel over, once, and taking that back."""

import pytest

from rentals.actions.dispatch import dispatch, recall
from rentals.actions.issue import (
    unassign,
)
from rentals.actions.pack import pack, unpack
from rentals.actions.receive import (
    arrive,
)
from rentals.models import Event
from rentals.verify import verify
from tests.factories import packed_loan

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
