"""The calendar feed and its private addresses."""

from __future__ import annotations

import re
from datetime import timedelta
from importlib import import_module

import pytest
from django.apps import apps
from django.utils import timezone

from rentals.actions.dispatch import extend
from rentals.actions.runs import save_run
from rentals.models import CalendarLink, CourseRun, Kit, Practice
from tests.factories import assigned_loan

MIGRATION = import_module("rentals.migrations.0041_calendar_links_as_hashes")
pytestmark = pytest.mark.django_db(transaction=True)


def _shown(answer) -> str:
    """The address on the page that shows it once."""
    [address] = re.findall(r"/calendar/[^/]+\.ics", _text(answer))
    return address


def _text(answer) -> str:
    return answer.content.decode()


def test_the_calendar_is_read_by_its_private_address_until_that_is_revoked(signed_in, client):
    loan = assigned_loan()
    address = _shown(signed_in.post("/setup/calendar/", {"name": "Phone"}))
    link = CalendarLink.objects.get()
    assert len(address) >= len("/calendar/.ics") + 22  # 128 bits, six a character
    assert address not in _text(signed_in.get("/setup/calendar/"))
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


def test_an_address_is_made_anew_and_the_one_before_answers_nobody(signed_in, client):
    first = _shown(signed_in.post("/setup/calendar/", {"name": "Phone"}))
    home = f"/setup/calendar/{CalendarLink.objects.get().pk}/new/"
    assert "get nothing from now on" in _text(signed_in.get(home))
    second = _shown(signed_in.post(home))
    assert [client.get(address).status_code for address in (first, second)] == [404, 200]
    assert "was revoked" in _text(signed_in.post(home))
    assert "Fill this in" in _text(signed_in.post("/setup/calendar/", {"name": ""}))


def test_an_address_of_before_they_were_hashed_still_answers(client):
    kept = "Xy12-abcdefghijklmnopqrstuvwxyz_"
    CalendarLink.objects.create(name="Phone", token_sha256=kept, made_at=timezone.now())
    MIGRATION.hash_tokens(apps, None)
    assert kept not in CalendarLink.objects.get().token_sha256
    assert client.get(f"/calendar/{kept}.ics").status_code == 200
    # The hash of an address is none itself.
    hashed = CalendarLink.objects.get().token_sha256
    assert client.get(f"/calendar/{hashed}.ics").status_code == 404


def _lines(answer, name: str) -> list[str]:
    return [line for line in _text(answer).split("\r\n") if line.startswith(name)]


def test_a_feed_that_has_not_changed_is_not_sent_again_and_entries_keep_their_names(
    signed_in, client, settings
):
    loan = assigned_loan()
    address = _shown(signed_in.post("/setup/calendar/", {"name": "Phone"}))
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


def test_what_changed_is_in_the_feed_at_once(signed_in, client):
    loan = assigned_loan()
    address = _shown(signed_in.post("/setup/calendar/", {"name": "Phone"}))
    feeds = [client.get(address).content]
    for change in (
        lambda: CourseRun.objects.update(name="Another run"),
        lambda: Practice.objects.update_or_create(pk=1, defaults={"name": "Another practice"}),
        lambda: Kit.objects.filter(pk=loan.kit_id).update(cleared=False),
    ):
        change()
        feeds.append(client.get(address).content)
        assert client.get(address).content == feeds[-1]
    assert len(set(feeds)) == len(feeds)
