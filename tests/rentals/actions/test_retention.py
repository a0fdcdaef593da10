"""What is kept no longer goes by itself, and nothing else does."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions.erased_list import note_erased
from rentals.actions.retention import KeptNoLonger, keep_no_longer
from rentals.models import LinePhoto, Loan, RosterDraft, Student
from tests.factories import CourseRunFactory, StudentFactory, assigned_loan
from tests.rentals.photos import add_pictures

pytestmark = pytest.mark.django_db


def test_students_at_rest_for_the_set_time_are_erased():
    now = timezone.now()
    old, fresh = StudentFactory(), StudentFactory()
    Student.objects.filter(pk=old.pk).update(on_file_since=now - timedelta(days=800))
    on_a_run = assigned_loan().enrolment.student
    Student.objects.filter(pk=on_a_run.pk).update(on_file_since=now - timedelta(days=800))
    assert keep_no_longer() == KeptNoLonger(1, 0, 0)
    assert keep_no_longer() == KeptNoLonger(0, 0, 0)
    left = set(Student.objects.filter(erased_at=None))
    assert left == {fresh, on_a_run}


def test_whom_an_older_backup_brought_back_is_erased_again_once_the_loan_allows():
    free, held = StudentFactory(), assigned_loan().enrolment.student
    note_erased([free.pk, held.pk])
    assert keep_no_longer().students == 1
    assert set(Student.objects.exclude(erased_at=None)) == {free}


def test_photos_and_roster_drafts_go_earlier():
    now, loan = timezone.now(), assigned_loan()
    line = loan.packing_lines.get(part_kind="charger")
    add_pictures(line, b"a", at=now - timedelta(days=400))
    draft = {"run": CourseRunFactory(), "file_name": "a.csv", "content": []}
    RosterDraft.objects.create(at=now - timedelta(days=31), **draft)
    RosterDraft.objects.create(at=now, **draft)
    assert keep_no_longer() == KeptNoLonger(0, 0, 1)
    long_ago = now - timedelta(days=300)
    Loan.objects.update(
        stage="settled", closed_at=long_ago, packed_at=long_ago, cleared_at_packing=long_ago
    )
    assert keep_no_longer() == KeptNoLonger(0, 1, 0)
    assert not LinePhoto.objects.exists()
