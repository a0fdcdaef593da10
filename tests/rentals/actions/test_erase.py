"""After an erasure nothing names the student; counts, sums and the log are whole."""

import pytest

from rentals.actions.assign import assign
from rentals.actions.erase import erase
from rentals.actions.runs import withdraw
from rentals.errors import Refused
from rentals.models import Event, Loan, Message, Shortfall, Student
from rentals.verify import verify
from tests.factories import assigned_loan, complete_kit
from tests.rentals.traces import MAIL, NAME, WORDS, finished_loan, traces

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def mail_as_files(settings) -> None:
    settings.EMAIL_BACKEND = "kitdesk.mail_files.EmlBackend"


def counts() -> list[int]:
    events = Event.objects.exclude(verb="erased").count()
    return [Loan.objects.count(), Shortfall.objects.count(), Message.objects.count(), events]


@pytest.mark.django_db(transaction=True)
def test_no_word_of_the_student_stays_and_what_is_counted_does():
    loan = finished_loan()
    before, facts = counts(), Loan.objects.values().get()
    assert len(traces([NAME])) > 10
    assert verify() == []
    student = erase(loan.enrolment.student)
    assert traces(WORDS) == []
    assert verify() == []
    assert student.name == "A student who left"
    assert (student.erased_at is None, str(student.country)) == (False, "DE")
    after = Loan.objects.values().get()
    changed = {name for name in facts if facts[name] != after[name]}
    assert (counts()[:3], changed) == (before[:3], {"tracking_number"})
    mails = Message.objects.values_list("occasion", "body_text")
    assert {("on_its_way", ""), ("statement", "")} <= set(mails)
    assert Event.objects.get(loan=loan, verb="arrived").text == "Back from a student who left."
    events = Event.objects.count()
    erase(student)
    assert Event.objects.count() == events
    record = Event.objects.get(verb="erased")
    assert (record.data["counts"]["LinePhoto"], record.data["counts"]["files"]) == (1, 3)
    # A word put in afterwards shows, as everywhere else in the log.
    Event.objects.filter(loan=loan, verb="arrived").update(text="Back from nobody.")
    assert len(verify()) == 1


def test_it_is_refused_while_anything_is_open():
    loan = assigned_loan()
    student = loan.enrolment.student
    with pytest.raises(Refused) as refusal:
        erase(student)
    assert "The loan of kit" in refusal.value.sentence
    assert "withdraw the student first" in refusal.value.sentence
    withdraw(loan.enrolment)
    assert erase(student).erased_at


@pytest.mark.django_db(transaction=True)
def test_a_namesake_keeps_the_name():
    loan = finished_loan()
    twin = Student.objects.create(name=NAME, email="another@wolken.example")
    kit = complete_kit(loan.kit.kit_type)
    other = assign(kit, loan.enrolment.run.enrolments.create(student=twin))
    erase(loan.enrolment.student)
    twin.refresh_from_db()
    assert (twin.name, traces([MAIL])) == (NAME, [])
    assert Event.objects.get(loan=other).text.startswith(f"Assigned to {NAME}")
    assert verify() == []
