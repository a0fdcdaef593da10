"""The calendar feed and its private addresses."""

from __future__ import annotations

import pytest

from rentals.models import CalendarLink
from tests.factories import assigned_loan

pytestmark = pytest.mark.django_db(transaction=True)


def _text(answer) -> str:
    return answer.content.decode()


def test_the_calendar_is_read_by_its_private_address_until_that_is_revoked(signed_in, client):
    loan = assigned_loan()
    signed_in.post("/setup/calendar/", {"name": "Phone"})
    link = CalendarLink.objects.get()
    assert len(link.token) >= 22  # at least 128 bits, six a character (ASVS 5.0, 7.2.3)
    address = f"/calendar/{link.token}.ics"
    assert address in _text(signed_in.get("/setup/calendar/"))
    answer = client.get(address)
    assert answer.status_code == 200
    assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
    body = _text(answer).replace("\r\n ", "")
    assert body.count("BEGIN:VEVENT") == 3
    assert f"DTSTART;VALUE=DATE:{loan.post_by:%Y%m%d}" in body
    assert f"DTSTART;VALUE=DATE:{loan.due_on:%Y%m%d}" in body
    assert loan.kit.code in body
    assert loan.enrolment.student.name not in body
    signed_in.post(f"/setup/calendar/{link.pk}/revoke/")
    assert client.get(address).status_code == 404
    assert client.get("/calendar/guessed.ics").status_code == 404
    assert client.get("/setup/calendar/").status_code == 302  # the page itself needs a sign-in
