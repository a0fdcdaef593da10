"""A deposit is asked with the kit, comes on a day, and goes along to another kit."""

from datetime import date
from decimal import Decimal

import pytest

from rentals.actions.assign import assign
from rentals.actions.deposit import receive_deposit
from rentals.actions.issue import unassign
from rentals.errors import Refused
from rentals.models import Event
from rentals.selectors.ledger import loan_sums
from rentals.verify import verify
from tests.factories import EnrolmentFactory, complete_kit

pytestmark = pytest.mark.django_db


@pytest.fixture
def asked():
    kit = complete_kit()
    return assign(kit, EnrolmentFactory(run__kit_type=kit.kit_type))


def test_a_deposit_comes_in_parts_and_no_more_of_it_than_was_asked(asked):
    assert (loan_sums(asked).deposit, loan_sums(asked).deposit_open) == (0, 80)
    receive_deposit(asked, on=date(2024, 7, 1), amount=Decimal(30), way="cash")
    assert (loan_sums(asked).deposit, loan_sums(asked).deposit_open) == (30, 50)
    for amount, sentence in ((51, "is open of the deposit"), (0, "above zero"), (-1, "above zero")):
        with pytest.raises(Refused, match=sentence) as refusal:
            receive_deposit(asked, amount=Decimal(amount))
        assert refusal.value.field == "amount"
    receive_deposit(asked)
    assert loan_sums(asked).deposit_open == 0
    with pytest.raises(Refused, match="No deposit is open"):
        receive_deposit(asked)
    assert Event.objects.filter(text="Deposit received on 1 Jul 2024: €30.00.").count() == 1
    assert verify() == []


def test_a_deposit_that_never_came_is_owed_by_nobody_once_the_kit_is_taken_back(asked):
    unassign(asked.kit)
    sums = loan_sums(asked)
    assert (sums.refund, sums.to_pay, sums.deposit_open) == (0, 0, 0)


def test_a_deposit_goes_along_to_the_kit_that_is_assigned_instead(asked):
    receive_deposit(asked)
    unassign(asked.kit)
    assert loan_sums(asked).refund == 80
    other = assign(complete_kit(asked.kit.kit_type), asked.enrolment)
    assert (loan_sums(asked).refund, loan_sums(asked).deposit) == (0, 0)
    assert (loan_sums(other).deposit, loan_sums(other).deposit_open) == (80, 0)
    assert verify() == []
