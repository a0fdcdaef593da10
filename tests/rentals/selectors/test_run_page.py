"""What a run's page says of all its students, kept and right after every change."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from rentals.models import CourseRun, Practice, RosterDraft, StockItem, Student
from rentals.selectors import kept_answers
from rentals.selectors.run_page import WholeRun, whole_run
from tests.factories import CourseRunFactory, EnrolmentFactory, assigned_loan, complete_kit

pytestmark = pytest.mark.django_db


def facts(run: CourseRun) -> WholeRun:
    return whole_run(run.pk, timezone.localdate())


def anew(run: CourseRun) -> WholeRun:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(kept_answers, "_kept", type(kept_answers._kept)())
        return facts(run)


def test_it_is_kept_while_nothing_changes():
    run = assigned_loan().enrolment.run
    first = facts(run)
    assert first.situation.to_pack == 1 and first.strip.students == 1
    with CaptureQueriesContext(connection) as seen:
        assert facts(run) is first
    assert len(seen) == 1


def test_each_change_is_seen_at_once():
    loan = assigned_loan()
    run = loan.enrolment.run
    before = facts(run)

    def moved() -> None:
        day = run.post_by + timedelta(days=1)
        CourseRun.objects.filter(pk=run.pk).update(post_by=day)

    changes: list[Callable[[], object]] = [
        lambda: EnrolmentFactory(run=run),
        lambda: complete_kit(run.kit_type),
        lambda: StockItem.objects.update(on_hand=0),
        lambda: RosterDraft.objects.create(
            run=run, file_name="roster.csv", content={}, at=timezone.now()
        ),
        lambda: Student.objects.update(name="林檎"),
        lambda: Practice.objects.update_or_create(pk=1, defaults={"street": "林檎"}),
        moved,
    ]
    for change in changes:
        change()
        now = facts(run)
        assert now == anew(run)
        assert now is not before
        before = now


def test_a_run_without_students_has_no_chances():
    found = facts(CourseRunFactory())
    assert (found.forecast, found.basis, found.stock_short, found.draft) == (None, [], [], None)
