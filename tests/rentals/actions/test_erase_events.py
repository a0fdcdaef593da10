"""Words of events go with their salt; the hash of what stands there now is handed on."""

import pytest

from rentals.actions.erase_events import plain_words_of_loans, sweep_events
from rentals.actions.issue import note
from rentals.actions.record import words_hash
from rentals.models import Event
from rentals.selectors.persons import person_alone, person_of
from tests.factories import assigned_loan, complete_kit

pytestmark = pytest.mark.django_db


def test_only_events_that_name_the_student_lose_their_words():
    loan, kit = assigned_loan(), complete_kit()
    student = loan.enrolment.student
    note(kit, f"{student.name} wants it next time")
    salted = Event.objects.exclude(words_salt="").count()
    done = plain_words_of_loans(student, person_of(student)) | sweep_events(person_alone(student))
    bare = Event.objects.filter(words_salt="")
    assert {str(event.pk): words_hash("", event.text) for event in bare} == done
    assert Event.objects.exclude(words_salt="").count() == salted - len(done)
    texts = {event.text for event in bare}
    assert texts >= {
        "Assigned to a student who left.",
        "a student who left wants it next time",
    }
