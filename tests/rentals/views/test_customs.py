"""Customs in Setup and on the page of a loan."""

import pytest
from django.test import Client
from django.urls import reverse

from rentals.models import CustomsAnswer, Practice, Student
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


def test_an_answer_given_from_a_loan_holds_for_its_destination(signed_in: Client) -> None:
    Practice.objects.create(pk=1, street="Lane 1", city="Town", postcode="10999", country="DE")
    loan = packed_loan()
    Student.objects.update(street="Bow 1", city="Mariehamn", postcode="22100", country="FI")
    place = reverse("rentals:customs_place", args=["aland"])
    shown = text_of(signed_in.get(loan.get_absolute_url()))
    assert "outside its VAT territory): a customs paper is needed" in shown and place in shown
    assert "Contents statement for the way back" in shown
    back = signed_in.get(reverse("rentals:loan_contents_statement", args=[loan.pk]) + "?way=back")
    assert back["Content-Type"] == "application/pdf"
    assert "The table says: Åland" in text_of(signed_in.get(place))
    signed_in.post(place, {"answer": "not_needed", "note": "Asked at the counter."})
    shown = text_of(signed_in.get(loan.get_absolute_url()))
    assert "no customs paper, by your own answer" in shown and "contents-statement" not in shown
    listed = text_of(signed_in.get(reverse("rentals:customs")))
    assert "Asked at the counter." in listed and "952/2013" in listed and "from memory" in listed
    signed_in.post(place, {"answer": "", "note": ""})
    assert not CustomsAnswer.objects.exists()


def test_without_an_own_country_the_practice_comes_first(signed_in: Client) -> None:
    place = reverse("rentals:customs_place", args=["aland"])
    assert signed_in.get(place)["Location"] == reverse("rentals:practice")
    nowhere = reverse("rentals:customs_place", args=["atlantis"])
    assert signed_in.get(nowhere).status_code == 404
