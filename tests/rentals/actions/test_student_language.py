"""A student's own choice of a language."""

import pytest

from rentals.actions.student_language import choose_student_language
from rentals.catalogues import in_language
from rentals.errors import Refused
from rentals.models import Event, Student
from rentals.verify import verify
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db


def test_a_choice_is_kept_with_an_event_and_a_mail_that_waits_follows_it():
    loan = packed_loan()
    before = loan.kit.event_count
    choose_student_language(loan, "de")
    choose_student_language(loan, "de")
    assert Student.objects.get(pk=loan.enrolment.student_id).language == "de"
    noted = Event.objects.filter(kit=loan.kit, number__gt=before)
    assert [event.text for event in noted] == ["The student chose German as their language."]
    assert noted[0].loan_id == loan.pk and noted[0].actor_name == ""
    assert verify() == []


def test_a_language_without_words_is_refused_in_the_language_at_hand():
    with in_language("de"), pytest.raises(Refused, match="Diese Sprache gibt es hier nicht"):
        choose_student_language(packed_loan(), "it")
