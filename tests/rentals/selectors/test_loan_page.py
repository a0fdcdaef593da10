"""What a loan's own page shows."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.models import Loan
from rentals.selectors.loan_page import loan_page
from tests.factories import assigned_loan, packed_loan
from tests.rentals.actions.acts import shortfall_of

pytestmark = pytest.mark.django_db


def test_an_assigned_loan_can_be_taken_back_and_an_overdue_one_is_asked_for():
    today = timezone.localdate()
    assert loan_page(assigned_loan(), today).can_unassign
    loan = dispatch(packed_loan().kit)
    page = loan_page(loan, today)
    assert page.away and not page.can_unassign
    assert page.receive_url == ""
    assert len(page.mails) == loan.messages.count() > 0
    late = loan_page(loan, loan.due_on + timedelta(days=1))
    assert loan.kit.code in late.receive_url
    assert late.next.act == "Write and ask for it"


def test_lines_are_shown_with_what_came_back_of_them():
    short = shortfall_of("charger")
    loan = Loan.objects.get(pk=short.loan_id)
    page = loan_page(loan, timezone.localdate())
    returned = {line.part_kind: back.outcome for line, back in page.lines}
    assert (returned["charger"], returned["electrodes"]) == ("missing", "used_up")
    assert page.shortfalls == [short]
    assert page.found == []
