"""Whom kits are lent to now."""

import pytest

from rentals.actions.issue import unassign
from rentals.selectors.open_loan import holders, open_loan
from tests.factories import assigned_loan

pytestmark = pytest.mark.django_db


def test_a_kit_is_lent_until_its_loan_ends(django_assert_num_queries):
    loan = assigned_loan()
    kit, name = loan.kit, loan.enrolment.student.name
    with django_assert_num_queries(1):
        lent = open_loan(kit)
        assert lent.enrolment.student.name and lent.enrolment.run.name
    assert lent == loan
    with django_assert_num_queries(1):
        assert holders([kit]) == {kit.pk: name}
    unassign(loan.kit)
    assert open_loan(loan.kit) is None
    assert holders([loan.kit]) == {}
