"""Kits and runs, a page at a time, and in a bounded number of queries."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from rentals.models import CourseRun, Kit, Loan
from tests.kitdesk.door.calls import Program
from tests.scale.fleet import grow

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]


def test_pages_follow_each_other_and_one_is_read_by_its_code():
    grow(7)
    program = Program("Site", "kits:read")
    seen, cursor = [], ""
    while cursor is not None:
        page = program.get("kits", limit=3, **({"cursor": cursor} if cursor else {})).json()
        seen += [kit["code"] for kit in page["items"]]
        cursor = page["next"]
    assert seen == list(Kit.objects.order_by("pk").values_list("code", flat=True))
    loan = Loan.objects.filter(stage="away").first()
    code = loan.kit.code.lower()
    kit = program.get(f"kits/{code[:1]} {code[1:]}").json()
    assert (kit["loan"], kit["run"]) == (loan.pk, loan.enrolment.run_id)
    run = program.get(f"runs/{kit['run']}").json()
    assert run["students"] == loan.enrolment.run.enrolments.count()
    assert program.get("runs").json() == {"items": [run], "next": None}
    later = (timezone.now() + timedelta(days=1)).isoformat()
    assert program.get("kits", changed_since=later).json()["items"] == []
    assert program.get("runs", changed_since="2020-01-01T00:00:00Z").json()["items"] == [run]


@pytest.mark.parametrize(
    ("place", "status"),
    [
        ("kits?limit=0", 422),
        ("kits?limit=201", 422),
        ("kits?cursor=x", 422),
        ("kits?changed_sinse=2026-01-31T08:00:00Z", 422),
        ("kits?cursor=9" + "9" * 30, 422),
        ("kits?changed_since=yesterday", 422),
        ("kits?changed_since=2026-01-31T08:00:00", 422),
        ("kits?changed_since=0001-01-01T00:00:00%2B14:00", 422),
        ("kits/K9999X", 404),
        ("kits/%00", 404),
        ("runs/0", 422),
        ("runs/99999999999999999999999", 422),
        ("runs/x", 422),
        ("runs/77", 404),
    ],
)
def test_what_is_refused(place, status):
    answer = Program("Site", "kits:read").get(place)
    assert answer.status_code == status
    assert answer.json()["detail"]


def test_no_operation_takes_more_queries_of_a_large_fleet():
    grow(4)
    program, run = Program(), CourseRun.objects.get()
    kit = Kit.objects.filter(state="away").first()
    lists = ["kits", "runs", f"runs/{run.pk}/loans", f"kits/{kit.code}/rounds", "captures"]
    rows = [f"kits/{kit.code}", f"runs/{run.pk}", f"kits/{kit.code}/readiness"]
    places = [f"{place}?limit=200" for place in lists] + rows

    def counts() -> dict[str, int]:
        found = {}
        for place in places:
            with CaptureQueriesContext(
                connection,
            ) as queries:
                assert program.get(place).status_code == 200
            found[place] = len(queries)
        return found

    program.get("kits")  # the first one notes its use
    few = counts()
    grow(60)
    assert counts() == few
    assert max(few.values()) <= 12
