"""Each open loan stands once in the day's work, with the act that is next."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.issue import hold
from rentals.actions.receive import arrive
from rentals.models import Loan
from rentals.selectors.day_facts import DayFacts
from rentals.selectors.kept_answers import KeptAnswers
from rentals.selectors.today_loans import overdue, to_check, to_dispatch, to_pack
from tests.factories import assigned_loan, packed_loan

pytestmark = pytest.mark.django_db

GROUPS = (to_check, overdue, to_dispatch, to_pack)


def codes() -> list[list[str]]:
    day = DayFacts(timezone.localdate(), KeptAnswers())
    return [[line.code for line in group(day).lines] for group in GROUPS]


def test_a_loan_moves_from_group_to_group():
    loan = packed_loan()
    code = loan.kit.code
    assert codes() == [[], [], [code], []]
    dispatch(loan.kit)
    assert codes() == [[], [], [], []]
    long_ago = timezone.localdate() - timedelta(days=90)
    Loan.objects.update(post_by=long_ago, due_on=long_ago + timedelta(days=60))
    assert codes() == [[], [code], [], []]
    loan.kit.refresh_from_db()
    arrive(loan.kit)
    assert codes() == [[code], [], [], []]


def test_what_stands_against_a_kit_is_said_where_it_is_packed():
    loan = assigned_loan()
    hold(loan.kit, reason="a lead is loose")
    (line,) = to_pack(DayFacts(timezone.localdate(), KeptAnswers())).lines
    assert (line.what, line.code) == (loan.enrolment.student.name, loan.kit.code)
    assert line.why == f"{loan.enrolment.run.name}; held: a lead is loose"
    assert line.url and line.act
