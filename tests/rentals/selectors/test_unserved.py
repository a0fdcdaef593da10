"""A student without a kit is the same one for the run, its next act and the packing bench."""

import pytest
from django.utils.timezone import localdate

from rentals.actions.dispatch import dispatch
from rentals.actions.earmark import set_aside
from rentals.actions.issue import unassign
from rentals.actions.runs import withdraw
from rentals.models import CourseRun, Enrolment
from rentals.next_acts import KitWaits
from rentals.selectors.packing import runs_wanting
from rentals.selectors.run_strips import strips_of
from rentals.selectors.runs import (
    enrolments_of,
    enrolments_without_kit,
    holding,
    run_button,
    run_situation,
)
from rentals.selectors.runs_ahead import runs_to_assign, runs_waiting
from rentals.selectors.unserved import kit_waits, unserved
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
)

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


def test_who_has_a_kit_set_aside_is_counted_apart_and_assigned_once_it_is_here():
    away = dispatch(packed_loan().kit).kit
    run = CourseRunFactory(kit_type=away.kit_type)
    today = localdate()
    run.post_by = today
    run.save()
    first, second = EnrolmentFactory.create_batch(2, run=run)
    set_aside({first.pk: away.code, second.pk: away.code})
    (row,) = runs_waiting(today)
    assert kit_waits(row) == KitWaits(0, 2, 0)
    assert kit_waits(row).words == "2 students have a kit set aside"
    situation = run_situation(run, None, today)
    assert (situation.without_kit, situation.set_aside) == (0, 2)
    assert run_button(run, situation, None) is None
    assert list(runs_to_assign(today)) == [] == runs_wanting(run.kit_type)
    marks = {holding(row, today).mark.word for row in enrolments_of(run)}
    assert len(marks) == 1 and marks.pop().endswith("set aside")
    (segment,) = strips_of([run])[run.pk].segments
    assert segment.mark.word == "2 with a kit set aside"
    here = complete_kit(run.kit_type)
    set_aside({first.pk: here.code})
    EnrolmentFactory(run=run)
    (row,) = runs_to_assign(today)
    assert kit_waits(row) == KitWaits(1, 2, 1)
    assert kit_waits(row).words == "2 students have a kit set aside, 1 student without a kit"
    situation = run_situation(run, None, today)
    assert (situation.without_kit, situation.set_aside, situation.set_aside_here) == (1, 2, 1)
