"""The site of a course sends rosters and reads who has what."""

from __future__ import annotations

import json

import pytest

from rentals.actions.dispatch import dispatch
from rentals.models import Enrolment, RosterDraft, Student
from tests.factories import CourseRunFactory, StudentFactory, packed_loan
from tests.kitdesk.door.calls import Program

pytestmark = pytest.mark.django_db

HEADS = "Name,E-mail,City,Country\n"
ADA = "Ada Test,ada@x.example,Rosinburg,DE\n"
BOB = "Bob Test,bob@x.example,Rosinburg,DE\n"


def _csv(program: Program, place: str, text: str, **headers: str):
    return program.send(place, text.encode(), "text/csv; charset=utf-8", **headers)


def test_a_roster_is_looked_at_carried_out_and_sent_again():
    run, program = CourseRunFactory(), Program("Course site", "rosters:write")
    waiting = RosterDraft.objects.create(run=run, file_name="x", content={}, at=run.changed_at)
    place = f"runs/{run.pk}/roster"
    look = _csv(program, f"{place}?dry_run=true", HEADS + ADA + BOB)
    assert look.status_code == 200 and look.json()["dry_run"] is True
    rows = look.json()["rows"]
    assert [(row["row"], row["standing"], row["faults"]) for row in rows] == [
        (2, "new", []),
        (3, "new", []),
    ]
    assert not Student.objects.exists()
    key = {"Idempotency-Key": "roster-1"}
    first, again = (_csv(program, place, HEADS + ADA + BOB, **key) for _ in range(2))
    assert first.status_code == 200 and first.json() == again.json()
    assert first.json()["result"].startswith("2 enrolled, 2 of them new")
    repeated = _csv(program, place, HEADS + ADA + BOB)
    assert "2 rows are on the run already" in repeated.json()["result"]
    more = _csv(program, place, HEADS + ADA + BOB + "Cy Test,cy@x.example,Rosinburg,DE\n")
    assert more.json()["result"].startswith("1 enrolled")
    assert run.enrolments.count() == Student.objects.count() == 3
    imported = RosterDraft.objects.exclude(pk=waiting.pk)
    assert {draft.by.username for draft in imported} == {"token Course site"}
    # What somebody has begun on the page is still there.
    assert RosterDraft.objects.filter(pk=waiting.pk, imported_at=None).exists()


def test_a_bad_row_keeps_all_out_and_is_pointed_at():
    run, program = CourseRunFactory(), Program()
    rows = [{"name": "Ada", "email": "ada@x.example"}, {"name": "", "email": "no address"}]
    body = json.dumps({"rows": rows}).encode()
    answer = program.send(f"runs/{run.pk}/roster", body, "application/json")
    assert answer.status_code == 422 and not Student.objects.exists()
    pointers = [place["pointer"] for place in answer.json()["errors"]]
    assert pointers == ["/body/rows/3/name", "/body/rows/3/email"]
    for data, kind, status in (
        (b"{", "application/json", 400),
        (b'{"rows": [1]}', "application/json", 422),
        (b'{"rows": []}', "application/json", 422),
        (b'{"rows": [{"name": "A", "email": "a", "x": ""}]}', "application/json", 422),
        (b'{"rows": [{"name": 1, "email": "a"}]}', "application/json", 422),
        (b"", "text/csv", 415),  # nothing is sent, so it is of no kind
        (b"a,b\n1,2\n", "text/csv", 422),
        (b"a,b\n1,2\n", "text/html", 415),
        (b"x" * (4 * 2**20 + 1), "text/csv", 413),
    ):
        refused = program.send(f"runs/{run.pk}/roster", data, kind)
        assert refused.status_code == status, data[:40]
    assert program.send("runs/999/roster", body, "application/json").status_code == 404


def test_a_question_is_answered_by_its_id_and_names_others_only_with_the_scope():
    run = CourseRunFactory()
    home = {"street": "Way 1", "postcode": "53111", "city": "Bonn"}
    StudentFactory(name="Secret Person", email="s@x.example", **home)
    rows = [{"name": "Ada", "email": "ada@x.example", **home}]
    body = json.dumps({"rows": rows}).encode()
    place = f"runs/{run.pk}/roster"

    def asked(program: Program) -> dict:
        look = program.send(f"{place}?dry_run=true", body, "application/json")
        [question] = look.json()["rows"][0]["questions"]
        return question

    site, office = Program("Site", "rosters:write"), Program("Office")
    assert "Secret" in asked(office)["sentence"] and "Secret" not in asked(site)["sentence"]
    refused = site.send(place, body, "application/json")
    assert refused.status_code == 422 and "Secret" not in refused.content.decode()
    yes = asked(site)["id"]
    assert site.send(f"{place}?yes={yes}", body, "application/json").status_code == 200
    assert Enrolment.objects.get().student.name == "Ada"


def test_who_has_what_and_whose_name_it_is_only_with_the_scope():
    loan = dispatch(packed_loan().kit, tracking_number="TRACK1")
    student = loan.enrolment.student
    place = f"runs/{loan.enrolment.run_id}/loans"
    [bare] = Program("Site", "loans:read").get(place).json()["items"]
    assert (bare["student"], bare["kit"], bare["state"]) == (student.pk, loan.kit.code, "away")
    assert (bare["tracking_number"], bare["due_on"]) == ("TRACK1", loan.due_on.isoformat())
    assert bare["name"] is bare["email"] is None
    [whole] = Program("Office").get(place).json()["items"]
    assert (whole["name"], whole["email"]) == (student.name, student.email)
    assert whole == bare | {"name": student.name, "email": student.email}
