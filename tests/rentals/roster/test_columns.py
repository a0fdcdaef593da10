"""Heads in plain words find their fields."""

import pytest

from rentals.roster.columns import STUDENTS, match_columns
from rentals.roster.reading import read_roster


@pytest.mark.parametrize(
    ("head", "field"),
    [
        ("Name", "name"),
        ("FULL NAME *", "name"),
        ("first_name", "first_name"),
        ("FirstName", "first_name"),
        ("Surname", "last_name"),
        ("Nachname", "last_name"),
        ("E-Mail", "email"),
        ("e-mail address (required)", "email"),
        ("Student email", "email"),
        ("Tel.", "phone"),
        ("Straße", "street"),
        ("ZIP", "postcode"),
        ("Postal Code:", "postcode"),
        ("Town/City", ""),
        ("Town or city", "city"),
        ("State/Province", "region"),
        ("Land", "country"),
        ("Prénom", "first_name"),
        ("Favourite piece", ""),
        ("", ""),
    ],
)
def test_heads(head: str, field: str) -> None:
    assert STUDENTS.field_of(head) == field


def columns(text: str):
    return match_columns(read_roster(text.encode()))


def test_unknown_columns_are_named_and_ignored() -> None:
    found = columns("Name,Instrument,E-mail,Teacher\nA,viola,a@x.example,B\n")
    assert found.fields == {"name": 0, "email": 2}
    assert found.ignored == ("Instrument", "Teacher")
    assert found.lacking == ()


def test_a_title_above_the_heads_does_not_disturb() -> None:
    assert (
        columns("Ease at the Instrument,,\n\nFirst name,Last name,Mail\nA,B,a@x.example\n").head_row
        == 3
    )


def test_of_two_columns_with_one_meaning_the_left_counts() -> None:
    found = columns("Name,E-mail,Email\nA,a@x.example,b@x.example\n")
    assert found.fields["email"] == 1
    assert found.ignored == ("Email",)


def test_without_heads_every_row_is_a_student() -> None:
    found = columns("Ada Test,a@x.example\nBea Test,b@x.example\n")
    assert (found.head_row, found.heads, found.fields) == (0, ("Column A", "Column B"), {})
    assert found.lacking == ("the name", "the e-mail address")


def test_a_column_without_a_head_gets_its_letter() -> None:
    assert columns("Name,E-mail,\nA,a@x.example,violin\n").heads == ("Name", "E-mail", "Column C")


def test_cells_beyond_the_heads_are_no_column_however_many_rows_have_them() -> None:
    found = columns("Name,E-mail\nA,a@x.example,Apt 1\nB,b@x.example,Apt 2\n")
    assert (found.heads, found.width) == (("Name", "E-mail"), 2)


def test_an_empty_cell_that_ends_most_rows_is_the_habit_of_a_program() -> None:
    assert columns("Name,E-mail\nA,a@x.example,\nB,b@x.example,\n").width == 3
    assert columns("Name,E-mail\nA,a@x.example,\nB,b@x.example\n").width == 2
