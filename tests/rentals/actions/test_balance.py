"""The settling mail fits what happened, and the day on which what was left was paid."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from rentals.actions.balance import note_balance_paid
from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive, finish_check, write_off
from rentals.actions.settle import charge, recover, settle, waive
from rentals.errors import Refused
from rentals.models import Event, Loan, Message, Practice
from rentals.selectors.ledger import loan_sums
from tests.factories import packed_loan
from tests.rentals.actions.acts import all_back, shortfall_of

pytestmark = pytest.mark.django_db

SETTLED_AT = timezone.make_aware(datetime(2027, 7, 2, 9))


def _settled(loan: Loan) -> str:
    settle(loan, at=SETTLED_AT)
    return Message.objects.get(occasion="statement").body_text


def _complete() -> Loan:
    check = arrive(dispatch(packed_loan().kit).kit)
    all_back(check)
    finish_check(check)
    return check.loan


def test_a_kit_that_came_back_whole_is_thanked_for_and_its_deposit_promised():
    mail = _settled(_complete())
    assert "everything that had to come back is here. Thank you" in mail
    assert "To be paid back to you: €80.00" in mail
    for untrue in ("Not everything", "written it off", "Still to pay", "Written off", "Please pay"):
        assert untrue not in mail


def test_what_came_after_all_lacks_no_more():
    short = shortfall_of("charger")
    recover(short)
    assert "everything that had to come back is here" in _settled(short.loan)


def test_a_shortfall_is_not_called_complete_and_who_bears_it_is_said():
    short = shortfall_of("charger")
    waive(short, reason="worn out")
    mail = _settled(short.loan)
    assert "Not everything was there or in order" in mail
    assert f"Written off, at our cost: €{short.amount:.2f}" in mail
    assert "everything that had" not in mail and "Charged" not in mail


def test_a_lost_kit_is_not_called_back_and_the_way_to_pay_is_named():
    Practice.objects.create(pk=1, payment_instructions="Account 12\nHarbour Bank", days_to_pay=10)
    loan = write_off(dispatch(packed_loan().kit).kit, reason="It was stolen.")
    for short in loan.shortfalls.all():
        charge(short, short.amount)
    mail = _settled(loan)
    assert "has not come back, and we have written it off" in mail
    assert "is back" not in mail
    assert "Still to pay: €347.00\nPlease pay by 12 July 2027.\n\nAccount 12\nHarbour Bank" in mail


def test_a_mail_that_waits_says_when_the_deposit_was_paid_back():
    loan = _complete()
    _settled(loan)
    note_balance_paid(loan, date(2027, 7, 5), at=SETTLED_AT.replace(day=6))
    mail = Message.objects.get(occasion="statement")
    assert "Paid back to you on 5 July 2027: €80.00" in mail.body_text
    assert "To be paid" not in mail.body_text
    assert Event.objects.filter(text__contains="paid back on").count() == 1
    note_balance_paid(loan, None)
    mail.refresh_from_db()
    assert "To be paid back to you: €80.00" in mail.body_text


@pytest.mark.parametrize("charged", [Decimal(80), Decimal(100)])
def test_what_cannot_be_noted_is_refused(charged):
    short = shortfall_of("charger")
    with pytest.raises(Refused, match="not settled yet"):
        note_balance_paid(short.loan, date(2027, 7, 5))
    charge(short, charged)
    settle(short.loan, at=SETTLED_AT)
    refusal = "Nothing is left" if charged == 80 else "is yet to come"
    with pytest.raises(Refused, match=refusal):
        note_balance_paid(short.loan, date(2027, 7, 3), at=SETTLED_AT)


def test_the_day_is_kept_from_its_page_and_stands_on_the_loan(signed_in):
    loan = _complete()
    _settled(loan)
    address = reverse("rentals:loan_paid", args=[loan.pk])
    page = signed_in.get(loan.get_absolute_url()).content.decode()
    assert "To be paid back: €80.00" in page and address in page
    assert "To be paid back: €80.00" in signed_in.get(address).content.decode()
    answer = signed_in.post(address, {"on": "2024-07-05"}, follow=True)
    assert "Paid back on 5 Jul 2024: €80.00" in answer.content.decode()
    assert loan_sums(loan).paid_on == date(2024, 7, 5)
