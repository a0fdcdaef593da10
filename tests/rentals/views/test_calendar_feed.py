"""The calendar feed and its private addresses."""

from __future__ import annotations

from datetime import timedelta

import pytest

from rentals.actions.dispatch import extend
from rentals.actions.runs import save_run
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


def _lines(answer, name: str) -> list[str]:
    return [line for line in _text(answer).split("\r\n") if line.startswith(name)]


def test_a_feed_that_has_not_changed_is_not_sent_again_and_entries_keep_their_names(
    signed_in, client, settings
):
    loan = assigned_loan()
    signed_in.post("/setup/calendar/", {"name": "Phone"})
    address = f"/calendar/{CalendarLink.objects.get().token}.ics"
    first = client.get(address)
    again = client.get(address, headers={"if-none-match": first["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    settings.SITE_URL = "https://moved.example"
    run = loan.enrolment.run
    run.return_by += timedelta(days=7)
    save_run(run)
    changed = client.get(address, headers={"if-none-match": first["ETag"]})
    assert changed.status_code == 200
    assert sorted(_lines(changed, "UID:")) == sorted(_lines(first, "UID:"))
    stamps = _lines(changed, "DTSTAMP:")
    assert stamps == [f"DTSTAMP:{run.changed_at:%Y%m%dT%H%M%SZ}"] * 3
    extend(loan, loan.due_on, at=run.changed_at + timedelta(days=1))
    assert _lines(client.get(address), "DTSTAMP:") != stamps
