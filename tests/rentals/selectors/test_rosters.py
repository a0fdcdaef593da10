"""Rosters under way, against the students on file."""

import pytest

from rentals.actions.roster import keep_draft
from rentals.roster.reading import read_roster
from rentals.selectors.rosters import column_samples, known_students, people_of, sheet_rows
from tests.factories import CourseRunFactory, StudentFactory

pytestmark = pytest.mark.django_db


def test_a_draft_is_read_as_people_with_who_is_known_among_them():
    known = StudentFactory(name="Ada Test", email="Ada@x.example")
    sheet = read_roster(b"Name,E-mail\nAda Test,ada@X.example\nBea Test,bea@x.example\n")
    draft = keep_draft(CourseRunFactory(), sheet, file_name="a.csv")
    assert [row.number for row in sheet_rows(draft)] == [2, 3]
    assert column_samples(draft, rows=1) == ["Ada Test", "ada@X.example"]
    people = people_of(draft)
    assert [person.number for person in people] == [2, 3]
    assert people[0].standing != people[1].standing
    assert known_students(["ADA@x.example", "", "bea@x.example"]) == {"ada@x.example": known}
