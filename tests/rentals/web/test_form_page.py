"""A page of one form: shown, carried out once, and shown again with what was typed."""

import uuid

import pytest
from django.test import Client
from django.urls import reverse

from rentals.models import Event, Kit
from tests.factories import complete_kit

pytestmark = pytest.mark.django_db


def address(kit: Kit, act: str = "hold") -> str:
    return reverse(f"rentals:kit_{act}", args=[kit.code])


def test_an_opened_page_has_an_empty_form_and_no_complaint(signed_in: Client):
    answer = signed_in.get(address(complete_kit()))
    assert answer.status_code == 200
    assert not answer.context["form"].is_bound


def test_a_form_that_is_not_valid_comes_back_with_its_errors(signed_in: Client):
    answer = signed_in.post(address(complete_kit()), {"reason": ""})
    assert answer.status_code == 422
    assert "reason" in answer.context["form"].errors


def test_an_empty_form_that_is_sent_is_refused_too(signed_in: Client):
    answer = signed_in.post(address(complete_kit()), {})
    assert answer.status_code == 422
    assert "reason" in answer.context["form"].errors


def test_a_refusal_stands_beside_its_field_and_keeps_what_was_typed(signed_in: Client):
    kit = complete_kit()
    answer = signed_in.post(address(kit, "fit"), {"part": kit.parts.first().code})
    assert answer.status_code == 422
    assert "is in this kit already" in answer.context["form"].errors["part"][0]
    assert kit.parts.first().code in answer.content.decode()


def test_a_form_goes_back_to_where_it_came_from(signed_in: Client):
    kit = complete_kit()
    answer = signed_in.post(address(kit), {"reason": "smells", "next": "/parts/"})
    assert (answer.status_code, answer.url) == (302, "/parts/")
    answer = signed_in.post(address(kit, "release"), {"next": "https://elsewhere.example/"})
    assert answer.url == kit.get_absolute_url()


def test_the_same_form_twice_acts_once_and_leads_to_the_same_page(signed_in: Client):
    kit, key = complete_kit(), str(uuid.uuid4())
    form = {"note": "dusty", "form_key": key}
    pages = {signed_in.post(address(kit, "note"), form).url for _ in range(2)}
    assert pages == {kit.get_absolute_url()}
    assert Event.objects.filter(kit=kit, text="dusty").count() == 1
