"""`manage.py speed --desk` measures each page beside an empty one and leaves nothing behind."""

from io import StringIO

import pytest
from django.contrib.sessions.models import Session
from django.core.management import CommandError, call_command

from kitdesk import desk_speed
from kitdesk.owner import demo_owner
from rentals.actions.dispatch import dispatch
from rentals.models import CalendarLink, Loan
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db


def test_every_page_of_the_table_is_measured_and_nothing_stays(monkeypatch):
    demo_owner()
    dispatch(packed_loan().kit, tracking_number="QB000000001")
    out = StringIO()
    # What a page takes is judged on a practice, not here.
    monkeypatch.setattr(desk_speed.PageCost, "met", property(lambda cost: 0 < cost.queries < 100))
    call_command("speed", "--desk", "--rounds", "1", stdout=out)
    lines = out.getvalue().splitlines()
    assert len(lines) == 19
    assert all(": met" in line and "queries" in line for line in lines), lines
    assert not Session.objects.exists() and not CalendarLink.objects.exists()
    assert Loan.objects.count() == 1


def test_a_missed_goal_fails_and_an_empty_desk_is_told_so(monkeypatch):
    with pytest.raises(CommandError, match="has no owner"):
        call_command("speed", "--desk")
    page = desk_speed.DeskPage("Today", "/", 4)
    cost = desk_speed.PageCost(page, times=5.0, queries=40, bytes=12)
    monkeypatch.setattr(
        "kitdesk.management.commands.speed.costs_of_pages", lambda rounds: [cost] * rounds
    )
    out = StringIO()
    with pytest.raises(CommandError, match="2 of 2 goals missed"):
        call_command("speed", "--desk", "--rounds", "2", stdout=out)
    assert "Today                            5.0 x  goal <= 4 x: MISSED" in out.getvalue()
