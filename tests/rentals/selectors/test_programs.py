"""Lists of kits and runs for other programs: by row, and by when they changed."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.models import CourseRun, Event
from rentals.selectors.programs import kits_in_order, loans_in_order, runs_in_order
from tests.factories import assigned_loan, complete_kit

pytestmark = pytest.mark.django_db


def test_what_changed_since_a_moment():
    loan, kit = assigned_loan(), complete_kit()
    assert list(kits_in_order()) == [loan.kit, kit]
    assert [row.open_loans for row in kits_in_order()] == [[loan], []]
    last = Event.objects.filter(kit=kit).latest("at").at
    assert kits_in_order().get(pk=kit.pk).changed_at == last
    assert kit in kits_in_order(last)
    assert not kits_in_order(timezone.now() + timedelta(hours=1))
    run = loan.enrolment.run
    assert list(runs_in_order(run.changed_at)) == [run]
    assert runs_in_order().get(pk=run.pk).students == 1
    assert not runs_in_order(timezone.now() + timedelta(hours=1))
    assert list(loans_in_order(run)) == [loan]
    assert CourseRun.objects.count() == 1
