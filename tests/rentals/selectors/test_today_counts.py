"""Work of some sorts is counted together, each piece under its own name."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive
from rentals.models import Loan, Message
from rentals.selectors.today_counts import LoanCounts, loan_counts, mail_counts
from tests.factories import assigned_loan, packed_loan

pytestmark = pytest.mark.django_db


def test_each_open_loan_counts_once_and_one_that_is_away_only_when_overdue(
    django_assert_num_queries,
) -> None:
    today = timezone.localdate()
    back, late, _, _ = (packed_loan() for _ in range(4))
    for _ in range(3):
        assigned_loan()
    arrive(dispatch(back.kit).kit)
    dispatch(late.kit)
    assert loan_counts(today) == LoanCounts(to_check=1, overdue=0, packed=2, to_pack=3)
    yesterday = today - timedelta(days=1)
    Loan.objects.filter(pk=late.pk).update(post_by=yesterday, due_on=yesterday)
    with django_assert_num_queries(1):
        assert loan_counts(today) == LoanCounts(to_check=1, overdue=1, packed=2, to_pack=3)


def test_mails_count_by_their_state_and_sent_ones_do_not() -> None:
    at = timezone.now()
    for key, state in enumerate(("draft", "draft", "failed", "sent")):
        Message.objects.create(state=state, message_id=str(key), drafted_at=at, sent_at=at)
    counts = mail_counts()
    assert (dict(counts), counts["uncertain"]) == ({"draft": 2, "failed": 1}, 0)
