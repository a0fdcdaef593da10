"""Days of the plan in Setup."""

import pytest
from django.test import Client
from django.urls import reverse

from rentals.models import Practice, TransitTime
from rentals.selectors.plan_days import day_rules

pytestmark = pytest.mark.django_db


def text_of(answer) -> str:
    return " ".join(answer.content.decode().split())


def test_the_owner_sets_what_the_days_are_worked_out_with(signed_in: Client) -> None:
    page = text_of(signed_in.get(reverse("rentals:plan_days")))
    assert "2 working days there, 2 back; usual, not set by you" in page
    assert "no public holiday is known" in page
    Practice.objects.create(pk=1, country="DE", name="Bow and Hand")
    days = {"spare": 3, "send": 4, "check": 0, "clean": 1, "charge": 0, "bench": 2, "restock": 0}
    sent = {f"days_to_{name}": number for name, number in days.items()}
    answer = signed_in.post(reverse("rentals:own_days"), sent, follow=True)
    own = "Saved: 3 working days between two loans, 3 to spare, 4 for posting back."
    assert own in text_of(answer)
    abroad = {"days_out": 5, "days_back": 8}
    signed_in.post(reverse("rentals:transit", args=["abroad"]), abroad)
    new = abroad | {"place": "ES", "days_out": 3}
    answer = signed_in.post(reverse("rentals:transit_new"), new, follow=True)
    assert "Saved: Spain, 3 working days there, 8 back." in text_of(answer)
    page = text_of(signed_in.get(reverse("rentals:plan_days")))
    assert "3 working days between two loans: clean 1, bench 2; 3 to spare before a run" in page
    assert "Spain" in page and "3 working days there, 8 back" in page
    assert Practice.current().name == "Bow and Hand"
    assert day_rules().transit("SE").back == 8
    answer = signed_in.post(reverse("rentals:transit_drop", args=["ES"]), follow=True)
    assert "Spain: the usual days of the post count again." in text_of(answer)
    assert [row.destination for row in TransitTime.objects.all()] == ["abroad"]


def test_what_is_no_place_is_not_found_and_too_many_days_are_refused(signed_in: Client) -> None:
    assert signed_in.get(reverse("rentals:transit", args=["nowhere"])).status_code == 404
    too_many = {"days_out": 500, "days_back": 1}
    answer = signed_in.post(reverse("rentals:transit", args=["home"]), too_many)
    assert answer.status_code == 422
    assert "days_out" in answer.context["form"].errors
