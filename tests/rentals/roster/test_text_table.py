"""Rosters as text, in any usual encoding and with any usual delimiter."""

import pytest

from rentals.roster.reading import read_roster

from .rosters import rows_of

TABLE = "Name;E-Mail;Ort\nJürgen Größe;j@strings.example;Köln\n"


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252"]
)
def test_every_usual_encoding_gives_the_same_letters(encoding: str) -> None:
    assert rows_of(TABLE.encode(encoding))[1] == ("Jürgen Größe", "j@strings.example", "Köln")


def test_a_guessed_code_page_is_said() -> None:
    assert any("Windows" in note for note in read_roster(TABLE.encode("cp1252")).notes)
    assert not any("Windows" in note for note in read_roster(TABLE.encode()).notes)


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_delimiters_are_found_by_what_is_alike(delimiter: str) -> None:
    text = (
        f"Name{delimiter}E-mail\nAda Test{delimiter}a@x.example\nBea Test{delimiter}b@x.example\n"
    )
    assert rows_of(text.encode())[2] == ("Bea Test", "b@x.example")


def test_commas_inside_cells_do_not_win_over_semicolons() -> None:
    text = "Name;Address;E-mail\nA;Lane 1, Town;a@x.example\nB;Lane 2, Town;b@x.example\n"
    assert rows_of(text.encode())[1] == ("A", "Lane 1, Town", "a@x.example")


def test_quoted_cells_keep_line_breaks_and_quotes_and_rows_are_numbered_as_a_spreadsheet_does() -> (
    None
):
    # RFC 4180 section 2: quotes around a cell with a line break, a quote inside is doubled.
    text = (
        'Name,Street,E-mail\r\n"Vi ""Vio"" Ola","Bow Lane 1\r\nFlat'
        ' 2",v@x.example\r\nLast,L,l@x.example\r\n'
    )
    sheet = read_roster(text.encode())
    assert sheet.rows[1].cells == ('Vi "Vio" Ola', "Bow Lane 1\nFlat 2", "v@x.example")
    assert sheet.rows[2].number == 3


def test_an_announced_separator_is_believed_and_still_counted_as_a_row() -> None:
    sheet = read_roster(b"sep=;\nName;E-mail\nA;a@x.example\n")
    assert [row.number for row in sheet.rows] == [2, 3]


def test_blank_rows_are_skipped_but_keep_their_numbers() -> None:
    assert [row.number for row in read_roster(b"Name,E-mail\n\n,,\nA,a@x.example\n").rows] == [1, 4]
