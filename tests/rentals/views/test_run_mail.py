"""One page from which a whole run is written to."""

import uuid

import pytest
from django.urls import reverse

from rentals.actions.dispatch import dispatch
from rentals.models import Message
from rentals.views import run_mail
from tests.factories import CourseRunFactory, EnrolmentFactory
from tests.rentals.actions.test_mail_run import loan_on

pytestmark = pytest.mark.django_db


def test_the_page_shows_everybody_and_one_press_sends_once(signed_in):
    run = CourseRunFactory()
    loan = dispatch(loan_on(run, name="Ada Bow").kit)
    EnrolmentFactory(run=run, student__name="Dora Peg")
    address = reverse("rentals:run_mail", args=[run.pk])
    assert address in signed_in.get(run.get_absolute_url()).content.decode()
    assert "What is it about?" in signed_in.get(address).content.decode()
    page = signed_in.get(f"{address}?occasion=arrived").content.decode()
    for words in ("Ada Bow", "1 left out", "Dora Peg", "has no kit", "What it says to Ada Bow"):
        assert words in page
    form = {"occasion": "arrived", "form_key": str(uuid.uuid4())}
    refused = signed_in.post(address, form)
    assert refused.status_code == 422 and "Tick who gets the mail" in refused.content.decode()
    sent = [signed_in.post(address, form | {"loans": [loan.pk]}) for _ in range(2)]
    mail = Message.objects.get(occasion="arrived")
    assert [answer.url for answer in sent] == [mail.batch.get_absolute_url()] * 2
    again = signed_in.get(f"{address}?occasion=arrived").content.decode()
    assert "already" in again and "checked" not in again


def test_a_large_run_is_written_to_a_page_at_a_time(signed_in, monkeypatch):
    monkeypatch.setattr(run_mail, "ON_ONE_PAGE", 2)
    monkeypatch.setattr(run_mail, "LEFT_OUT_SHOWN", 1)
    run = CourseRunFactory()
    loans = [dispatch(loan_on(run, name=f"Student {n}").kit) for n in range(3)]
    EnrolmentFactory.create_batch(3, run=run)
    address = reverse("rentals:run_mail", args=[run.pk]) + "?occasion=arrived&page=2"
    page = signed_in.get(address).content.decode()
    for words in ("1 of 1 student ticked, 3 left out", "3 to 3 of 3", "And 2 more."):
        assert words in page
    form = {"occasion": "arrived", "form_key": str(uuid.uuid4()), "loans": [loans[2].pk]}
    assert signed_in.post(address, form).status_code == 302
    assert Message.objects.get(occasion="arrived").loan == loans[2]
