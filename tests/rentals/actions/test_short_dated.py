"""Pieces that expire during a loan go out on the owner's written reason only."""

from datetime import timedelta

import pytest

from rentals.actions.pack import pack, tick
from rentals.actions.short_dated import allow_short_dated
from rentals.errors import Refused
from rentals.models import ElectrodeBatch, Event
from rentals.verify import verify
from tests.factories import UserFactory, assigned_loan, packed_loan
from tests.rentals.actions.acts import events_after

pytestmark = pytest.mark.django_db

REASON = "The student has a box of fresh ones at home."


def test_what_expires_during_the_loan_is_packed_once_the_owner_has_said_why(owner):
    loan = assigned_loan()
    ElectrodeBatch.objects.update(expires_on=loan.due_on - timedelta(days=1))
    electrodes = loan.packing_lines.get(part_kind="electrodes")
    with pytest.raises(Refused, match=r"24 needed, 0 here \(5000 more expire before"):
        tick(electrodes)
    helper = UserFactory()
    assert (
        events_after(lambda: allow_short_dated(loan.kit, reason=REASON, actor=helper), "owner") == 0
    )
    assert (
        events_after(lambda: allow_short_dated(loan.kit, reason="why", actor=owner), "reason") == 0
    )
    assert (
        allow_short_dated(loan.kit, reason=f" {REASON} ", actor=owner).short_dated_reason == REASON
    )
    event = Event.objects.latest("pk")
    assert (event.loan, event.actor, REASON in event.text) == (loan, owner, True)
    for line in loan.packing_lines.all():
        tick(line)
    pack(loan.kit)
    assert verify() == []


def test_an_expired_batch_goes_out_on_nobodys_word(owner):
    loan = assigned_loan()
    ElectrodeBatch.objects.update(expires_on=loan.assigned_at.date() - timedelta(days=1))
    allow_short_dated(loan.kit, reason=REASON, actor=owner)
    with pytest.raises(Refused, match="5000 more are expired and do not go out"):
        tick(loan.packing_lines.get(part_kind="electrodes"))


def test_a_closed_parcel_takes_no_such_word(owner):
    kit = packed_loan().kit
    assert events_after(lambda: allow_short_dated(kit, reason=REASON, actor=owner), "closed") == 0
