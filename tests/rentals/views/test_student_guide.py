"""Help by symptom on the student's page."""

import pytest
from django.test import Client
from django.urls import reverse

from rentals.models import FaultReport, GuideVisit
from rentals.selectors.student_links import token_of_link
from rentals.states import GuideOutcome
from tests.rentals.guide import NO, lent

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clean_cache")]


class Student:
    """A student's browser: plain forms behind one link."""

    def __init__(self, loan) -> None:
        self.client = Client()
        self.token = token_of_link(loan.student_links.get(revoked_at=None))

    def address(self, name: str, *place) -> str:
        return reverse(f"rentals:{name}", args=[self.token, *place])

    def get(self, name: str, *place):
        return self.client.get(self.address(name, *place))

    def post(self, name: str, *place, **data):
        return self.client.post(self.address(name, *place), data, follow=True)


def test_a_symptom_is_gone_through_to_its_report_and_back_again_another_day():
    student = Student(loan := lent())
    assert "The trace is flat" in student.get("my_help").text
    step = student.post("my_help", symptom="flat")
    assert "Switch it on" in step.text and "Did it help?" in step.text
    visit = GuideVisit.objects.get()
    student.post("my_help_visit", visit.pk, step="switched_on", answer=NO)
    assert "goes on where you were" in student.get("my_help").text
    page = student.post("my_help", symptom="flat")
    assert "Let the program find the kit" in page.text
    assert "The amplifier was not off or asleep." in page.text
    back = student.client.get(student.address("my_help_visit", visit.pk) + "?step=switched_on")
    assert 'value="no" aria-current="true"' in " ".join(back.text.split())
    assert "Send the report" in student.get("my_help_report", visit.pk).text
    sent = student.post("my_help_report", visit.pk, note="It fell down.")
    assert "Your instructor has your report since" in sent.text and "It fell down." in sent.text
    assert FaultReport.objects.get().loan == loan


def test_what_is_solved_is_said_and_can_be_taken_up_again():
    student = Student(lent())
    student.post("my_help", symptom="hum")
    visit = GuideVisit.objects.get()
    page = student.post("my_help_visit", visit.pk, step="laptop_battery", answer="yes")
    assert "Solved." in page.text
    again = student.post("my_help_again", visit.pk)
    assert "charger away" in again.text
    assert GuideVisit.objects.get().outcome == GuideOutcome.OPEN


def test_what_cannot_be_is_said_in_words_and_loses_nothing():
    student = Student(lent())
    assert student.post("my_help", symptom="smoke").status_code == 422
    student.post("my_help", symptom="cells")
    visit = GuideVisit.objects.get()
    refused = student.post("my_help_visit", visit.pk, step="cells_look", answer="maybe")
    assert refused.status_code == 422 and "Choose one of the answers." in refused.text
    stop = student.post("my_help_visit", visit.pk, step="cells_look", answer="yes")
    assert "Stop using the kit." in stop.text


def test_nobody_sees_the_help_of_another_loan():
    mine, other = Student(lent()), Student(lent())
    mine.post("my_help", symptom="hum")
    visit = GuideVisit.objects.get()
    for name in ("my_help_visit", "my_help_report", "my_help_again"):
        assert other.post(name, visit.pk, step="laptop_battery", answer="no").status_code == 404
    assert not visit.tried.exists()


def test_a_page_takes_as_many_queries_with_many_answers_as_with_one(django_assert_max_num_queries):
    student = Student(lent())
    student.post("my_help", symptom="high")
    visit = GuideVisit.objects.get()
    for step in ("rest_minute", "laptop_battery", "ground_off", "electrodes_new", "skin"):
        student.post("my_help_visit", visit.pk, step=step, answer=NO)
    for name, place in (("my_help", ()), ("my_help_visit", (visit.pk,))):
        with django_assert_max_num_queries(14):
            student.get(name, *place)
