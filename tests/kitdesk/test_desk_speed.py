"""`manage.py speed --desk` measures each page beside an empty one and leaves nothing behind."""

from io import StringIO
from math import inf

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
    assert len(lines) == 27
    assert all(": met" in line and "queries" in line for line in lines[:-1]), lines
    assert "kits as XLSX" in lines[25] and " MB <= 50 MB" in lines[25]
    assert "with 1 kit. An empty page took" in lines[26] and "Load" in lines[26]
    assert not Session.objects.exists() and not CalendarLink.objects.exists()
    assert Loan.objects.count() == 1


def cost_of(words="Today", goal=4.0, times=3.0, **facts):
    page = desk_speed.DeskPage(words, "/", goal, facts.pop("goal_mb", inf))
    return desk_speed.PageCost(page, times, 17.0, 5.7, queries=40, bytes=12, **facts)


@pytest.fixture
def measured(monkeypatch):
    """Run the command over costs that are given, with further words; the lines it says."""

    def run(*costs, **options):
        monkeypatch.setattr(
            "kitdesk.management.commands.speed.costs_of_pages", lambda rounds: costs
        )
        out = StringIO()
        try:
            call_command("speed", "--desk", stdout=out, **options)
        except CommandError as problem:
            out.write(str(problem))
        return out.getvalue()

    return run


def test_an_empty_desk_is_told_so():
    with pytest.raises(CommandError, match="has no owner"):
        call_command("speed", "--desk")


def test_a_missed_goal_fails(measured):
    said = measured(cost_of(times=5.0), cost_of("a file", inf, goal_mb=50, mb=50.5), cost_of())
    assert "Today                            5.0 x  goal <= 4 x: MISSED (17.0 ms," in said
    assert "goal 50.5 MB <= 50 MB: MISSED" in said
    assert said.endswith("2 of 3 goals missed.")


def test_a_page_that_grows_with_the_desk_misses_its_goal(measured, tmp_path):
    file = tmp_path / "small.json"
    assert "missed" not in measured(cost_of(times=2.0), cost_of("a file", inf), keep=file)
    assert "missed" not in measured(cost_of(times=3.0), cost_of("a file", inf, 90), against=file)
    grown = measured(cost_of(times=3.1), cost_of("new", times=3.0), against=file)
    assert "1.6 x as dear as on the other desk" in grown and "1 of 2 goals missed" in grown
    file.write_text("[]")
    assert "holds no times" in measured(cost_of(), against=file)
    assert "holds no times" in measured(cost_of(), against=tmp_path / "none.json")
