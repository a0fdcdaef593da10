"""The desk's side of the student's page."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from rentals.actions.setup import save_practice
from rentals.models import Practice, StudentLink
from rentals.planning.arrival import Arrived
from tests.rentals.actions.test_student_links import every_text
from tests.rentals.arrivals import loan_away, loan_with_arrival

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clean_cache")]
KEY = {"form_key": "6d3f5c4e-0f7e-4f0c-9c6b-0d8f4a6f1a11"}


def test_a_new_link_is_shown_once_and_kept_nowhere(signed_in):
    save_practice(Practice(name="Ease", site_url="https://desk.example"))
    loan = loan_away()
    before = StudentLink.objects.get()
    address = reverse("rentals:loan_new_link", args=[loan.pk])
    assert "opens nothing any more" in signed_in.get(address).text
    made = signed_in.post(address, KEY)
    assert made.status_code == 200 and made["Cache-Control"] == "no-store"
    found = re.search(r"https://desk\.example(/my-kit/([\w-]+)/)", made.text)
    assert Client().get(found[1]).status_code == 200
    before.refresh_from_db()
    assert before.revoked_at is not None
    assert signed_in.post(address, KEY).status_code == 302
    assert StudentLink.objects.count() == 2 and found[2] not in every_text()


def test_the_loans_page_says_how_the_link_stands(signed_in):
    loan = loan_away()
    shown = signed_in.get(loan.get_absolute_url()).text
    assert "no address that students can open" in shown and "not opened yet" in shown
    signed_in.post(reverse("rentals:loan_stop_link", args=[loan.pk]))
    assert "The link was stopped" in signed_in.get(loan.get_absolute_url()).text


def test_what_lacked_on_arrival_is_seen_to(signed_in):
    loan = loan_with_arrival(charger=Arrived(missing=1, note="Bag empty"))
    address = reverse("rentals:loan_arrival_answer", args=[loan.pk])
    assert "Charger missing on arrival: Bag empty" in signed_in.get(address).text
    assert address in signed_in.get(reverse("rentals:today")).text
    assert address in signed_in.get(loan.get_absolute_url()).text
    signed_in.post(address, {"answer": "Another one is posted."})
    assert address not in signed_in.get(reverse("rentals:today")).text
    assert "Another one is posted." in signed_in.get(loan.get_absolute_url()).text


def test_a_link_cannot_be_made_for_a_loan_that_has_ended(signed_in):
    loan = loan_away()
    type(loan).objects.filter(pk=loan.pk).update(stage="cancelled")
    address = reverse("rentals:loan_new_link", args=[loan.pk])
    assert "The loan has ended" in signed_in.post(address, KEY).text
