"""Money as work of the day."""

import pytest
from django.utils import timezone

from rentals.actions.settle import recover, settle
from rentals.models import Practice
from rentals.selectors.today_money import money_owed
from tests.rentals.actions.acts import shortfall_of

pytestmark = pytest.mark.django_db


def test_what_we_owe_a_student_is_work_from_the_day_it_is_settled(django_assert_max_num_queries):
    short = shortfall_of("charger")
    recover(short)
    loan = settle(short.loan)
    # One of them finds since when the debts that are kept hold.
    with django_assert_max_num_queries(4):
        refunds, overdue = money_owed(timezone.localdate(), Practice.current())
    assert [line.code for line in refunds.lines] == [loan.kit.code]
    assert refunds.total == 1
    assert loan.enrolment.student.name in refunds.lines[0].what
    assert overdue.total == 0
