"""A parcel that came on Friday and is opened on Monday."""

from datetime import datetime, timedelta

import pytest
from django.utils import timezone

from rentals.actions.arrival import correct_arrival
from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive, finish_check
from rentals.actions.settle import settle
from rentals.errors import Refused
from rentals.models import Event, Loan
from rentals.selectors.paper_facts.statements import statement_facts
from rentals.verify import verify
from tests.factories import packed_loan
from tests.rentals.actions.acts import all_back

pytestmark = pytest.mark.django_db


def sent_a_week_ago() -> Loan:
    loan = packed_loan()
    return dispatch(loan.kit, at=timezone.now() - timedelta(days=7))


def day(moment: datetime):
    return timezone.localtime(moment).date()


def test_it_came_on_a_day_before_and_the_statement_says_so():
    loan, today = sent_a_week_ago(), timezone.localdate()
    friday = today - timedelta(days=3)
    check = arrive(loan.kit, on=friday)
    loan.refresh_from_db()
    assert day(loan.arrived_at) == friday
    assert statement_facts(loan).came_back_on == friday
    # What was captured meanwhile was not captured with this kit: it counts from today.
    assert day(check.loan.kit.__class__.objects.get(pk=loan.kit_id).returned_at) == today
    assert "here since" in Event.objects.filter(loan=loan, verb="arrived").get().text
    assert verify() == []


def test_it_may_have_come_on_the_day_of_its_dispatch_or_today():
    loan = sent_a_week_ago()
    arrive(loan.kit, on=day(loan.dispatched_at))
    loan.refresh_from_db()
    assert loan.arrived_at >= loan.dispatched_at
    other = sent_a_week_ago()
    arrive(other.kit, on=timezone.localdate())
    other.refresh_from_db()
    assert timezone.now() - other.arrived_at < timedelta(hours=1)


@pytest.mark.parametrize(("days", "why"), [(1, "yet to come"), (-8, "was dispatched on")])
def test_it_came_neither_in_the_future_nor_before_it_was_sent(days, why):
    loan = sent_a_week_ago()
    with pytest.raises(Refused, match=why) as refusal:
        arrive(loan.kit, on=timezone.localdate() + timedelta(days=days))
    assert refusal.value.field == "on"
    loan.refresh_from_db()
    assert loan.arrived_at is None


def test_the_day_is_corrected_until_the_loan_is_over():
    loan, today = sent_a_week_ago(), timezone.localdate()
    with pytest.raises(Refused, match="not come back yet"):
        correct_arrival(loan, today)
    check = arrive(loan.kit)
    correct_arrival(loan, today - timedelta(days=2))
    loan.refresh_from_db()
    assert day(loan.arrived_at) == today - timedelta(days=2)
    assert Event.objects.filter(loan=loan).last().text.startswith("It came back on ")
    with pytest.raises(Refused, match="yet to come"):
        correct_arrival(loan, today + timedelta(days=1))
    all_back(check)
    finish_check(check)
    correct_arrival(loan, today - timedelta(days=1))
    settle(loan)
    with pytest.raises(Refused, match="is over"):
        correct_arrival(loan, today)
    assert verify() == []
