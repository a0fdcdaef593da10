"""What the project's own middleware changes in an answer."""

import pytest
from django.db import OperationalError
from django.test import Client
from django.urls import reverse

from tests.factories import assigned_loan

pytestmark = pytest.mark.django_db


def test_a_form_sent_by_the_script_is_told_where_it_leads(signed_in: Client) -> None:
    loan = assigned_loan()
    scan = reverse("rentals:pack_scan", args=[loan.kit.code])
    home = reverse("rentals:pack_kit", args=[loan.kit.code])
    code = {"scan": loan.kit.parts.first().code}
    by_browser = signed_in.post(scan, code)
    assert (by_browser.status_code, by_browser.url) == (302, home)
    by_script = signed_in.post(scan, code, headers={"Kitdesk-Script": "1"})
    assert (by_script.status_code, by_script["Kitdesk-Goes-To"]) == (204, home)
    assert "Location" not in by_script.headers
    # What the next page has to say is still there for it.
    assert "ticked" in signed_in.get(home).content.decode()
    refused = signed_in.post(scan, {"scan": "?"}, headers={"Kitdesk-Script": "1"})
    assert "Kitdesk-Goes-To" not in refused.headers and b"<h1>" in refused.content


def test_a_lock_outside_of_any_form_is_a_page_and_other_faults_stay_faults(signed_in, monkeypatch):
    signed_in.raise_request_exception = False
    answers = []
    for words in ("database is locked", "no such column: shelf"):

        def refuse(*args: object, problem: str = words) -> None:
            raise OperationalError(problem)

        monkeypatch.setattr("rentals.views.kits.kits_listed", refuse)
        answers.append(signed_in.get(reverse("rentals:kits")))
    assert [answer.status_code for answer in answers] == [503, 500]
    assert "The desk is busy" in answers[0].content.decode()
    assert answers[0]["Retry-After"] == "5"


def test_no_browser_keeps_what_the_desk_shows(signed_in, client):
    loan = assigned_loan()
    shown = signed_in.get(loan.enrolment.student.get_absolute_url())
    assert loan.enrolment.student.name in shown.content.decode()
    answers = [
        shown,
        signed_in.get("/no/such/page"),
        client.get(reverse("rentals:today")),
        client.get(reverse("account_login")),
        client.get(reverse("health")),
    ]
    assert [answer.status_code for answer in answers] == [200, 404, 302, 200, 200]
    assert ["no-store" in answer["Cache-Control"] for answer in answers] == [True] * 5
