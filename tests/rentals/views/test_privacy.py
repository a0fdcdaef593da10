"""The pages of personal data: what is kept, the set time, export and erasure."""

import pytest
from django.test import Client
from django.urls import reverse

from rentals.models import Practice, Student
from tests.factories import StudentFactory, assigned_loan

pytestmark = pytest.mark.django_db


def test_the_page_says_what_is_kept_and_takes_another_time(signed_in: Client):
    held = assigned_loan()
    address = reverse("rentals:privacy")
    shown = signed_in.get(address).content.decode()
    for words in ("24 months after the last loan", "Backups", f"The loan of kit {held.kit.code}"):
        assert words in shown
    months = {"months_to_keep_students": 36, "months_to_keep_photos": 3, "days_to_keep_drafts": 7}
    assert signed_in.post(address, months).status_code == 302
    assert Practice.current().months_to_keep_students == 36
    refused = signed_in.post(address, months | {"months_to_keep_photos": 0})
    assert refused.status_code == 422


def test_a_student_is_handed_over_and_erased_from_the_page(signed_in: Client):
    student = StudentFactory()
    here = reverse("rentals:student", args=[student.pk])
    data, erase = (
        reverse(f"rentals:student_{act}", args=[student.pk]) for act in ("data", "erase")
    )
    shown = signed_in.get(here).content.decode()
    assert data in shown and erase in shown
    answer = signed_in.get(data)
    assert (answer["Content-Type"], answer["Cache-Control"]) == ("application/zip", "no-store")
    assert signed_in.post(erase, {"next": here}).status_code == 302
    shown = signed_in.get(here).content.decode()
    assert student.email not in shown and erase not in shown
    # A page that was open meanwhile cannot write the name again.
    words = {"name": student.name, "email": student.email, "country": "DE"}
    assert signed_in.post(here, words).status_code == 422
    assert Student.objects.get().name == "A student who left"


def test_what_stands_in_the_way_is_said_before_and_after(signed_in: Client):
    student = assigned_loan().enrolment.student
    erase = reverse("rentals:student_erase", args=[student.pk])
    assert "withdraw the student first" in signed_in.get(erase).content.decode()
    assert signed_in.post(erase).status_code == 422
    assert Student.objects.get(pk=student.pk).erased_at is None
