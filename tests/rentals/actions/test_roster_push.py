"""A roster of a program goes by the rules of the page, and writes nothing when it is looked at."""

import pytest

from rentals.actions.roster_push import look_at_roster, push_roster, question_id
from rentals.errors import Refused
from rentals.models import RosterDraft, Student
from rentals.roster.reading import read_roster
from tests.factories import CourseRunFactory, StudentFactory

pytestmark = pytest.mark.django_db

HEADS = "Name,E-mail,City\n"


def _sheet(rows: str, encoding: str = "utf-8"):
    return read_roster((HEADS + rows).encode(encoding))


def test_looking_writes_nothing_and_pushing_twice_adds_nobody_twice(owner):
    run, sheet = CourseRunFactory(), _sheet("Ada,ada@x.example,Bonn\n")
    assert [row.standing for row in look_at_roster(run, sheet)] == ["new"]
    assert not RosterDraft.objects.exists()
    assert push_roster(run, sheet, actor=owner).startswith("1 enrolled")
    assert push_roster(run, sheet, actor=owner).startswith("Nothing to add: 1 row is")
    assert RosterDraft.objects.get().by == owner and Student.objects.count() == 1


def test_an_answer_belongs_to_its_question():
    run = CourseRunFactory()
    StudentFactory(name="Somebody Else", email="ada@x.example")
    sheet = _sheet("Ada,ada@x.example,Bonn\n")
    [row] = look_at_roster(run, sheet)
    [question] = row.questions
    for yes in ([], [question_id(row, question) + "0"]):
        with pytest.raises(Refused, match="Row 2 still stands in the way"):
            push_roster(run, sheet, yes)
    assert push_roster(run, sheet, [question_id(row, question)]).startswith("1 enrolled, 0")
    assert Student.objects.get().name == "Ada"


@pytest.mark.parametrize(
    ("sheet", "words"),
    [
        (read_roster(b"Town,Mail\nBonn,ada@x.example\n"), "heads to the columns"),
        (read_roster(b"Name,E-mail\nada@x.example,Ada\nbob@x.example,Bob\n"), "do not hold"),
        (_sheet("J\u00fcrgen,j@x.example,K\u00f6ln\n", "latin-1"), "send UTF-8"),
    ],
)
def test_what_is_not_certain_is_refused(sheet, words):
    with pytest.raises(Refused, match=words):
        look_at_roster(CourseRunFactory(), sheet)
