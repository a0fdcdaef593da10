"""A student without a kit is the same one for the run, its next act and the packing bench."""

import pytest

from rentals.actions.issue import unassign
from rentals.actions.runs import withdraw
from rentals.models import CourseRun, Enrolment
from rentals.selectors.packing import runs_wanting
from rentals.selectors.runs import enrolments_without_kit, run_situation
from rentals.selectors.unserved import unserved
from tests.factories import EnrolmentFactory, assigned_loan, complete_kit

pytestmark = pytest.mark.django_db


def test_unserved_is_who_is_on_the_run_and_never_got_a_kit():
    run = (served := assigned_loan()).enrolment.run
    withdraw(EnrolmentFactory(run=run))
    freed = assigned_loan(complete_kit(run.kit_type), EnrolmentFactory(run=run))
    assert not Enrolment.objects.filter(unserved()).exists()
    unassign(freed.kit, reason="another kit")
    assert list(Enrolment.objects.filter(unserved())) == [freed.enrolment]
    assert list(CourseRun.objects.filter(unserved("enrolments__"))) == [run]
    assert list(enrolments_without_kit(run)) == [freed.enrolment]
    assert run_situation(run, None, run.post_by).without_kit == 1
    assert runs_wanting(run.kit_type) == [run]
    withdraw(freed.enrolment)
    assert runs_wanting(served.kit.kit_type) == []
