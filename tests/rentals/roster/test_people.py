"""Rows become people; every bad row says why, with its cell."""

import pytest

from rentals.roster.addresses import country_of, email_fault, postcode_warning
from rentals.roster.columns import match_columns, rows_below
from rentals.roster.people import Choices, Known, PersonRow, read_people
from rentals.roster.questions import Dweller
from rentals.roster.reading import read_roster

HEAD = "Name,E-mail,Street,City,Postcode,Country\n"
RECORD = {
    "name": "Ada",
    "email": "a@x.example",
    "phone": "",
    "street": "",
    "city": "",
    "postcode": "",
    "region": "",
    "language": "",
}


def people(text: str, known=None, choices=None) -> list[PersonRow]:
    sheet = read_roster((HEAD + text).encode())
    found = match_columns(sheet)
    rows = rows_below(sheet, found.head_row)
    return read_people(
        rows,
        found.fields,
        heads=len(found.heads),
        width=found.width,
        on_file=known or {},
        choices=choices or Choices(),
    )


def said(row: PersonRow) -> list[tuple[str, str]]:
    return [(fault.cell, fault.sentence) for fault in row.faults]


def test_a_clean_row() -> None:
    (row,) = people("Ada  Test,ada@x.example,Bow Lane 1,Rosinburg,12345,Germany\n")
    assert row.counted and row.standing == "new" and not row.warnings
    assert row.person["name"] == "Ada Test" and row.person["country"] == "DE"


def test_every_fault_names_its_cell() -> None:
    rows = people(
        ",no-name@x.example\n"
        "Bea,not an address\n"
        "Cai,c@x.example,,,,Narnia\n"
        "Dee,DEE@x.example\n"
        "Eli,dee@X.example\n"
        "Fay,f@x.example,Lane 1, Town,Rosinburg,12345,DE\n"
    )
    assert said(rows[0]) == [("A2", "The name is missing.")]
    assert said(rows[1])[0][0] == "B3" and "not an e-mail address" in said(rows[1])[0][1]
    assert said(rows[2])[0][0] == "F4" and "Narnia" in said(rows[2])[0][1]
    ((cell, sentence),) = said(rows[4])
    assert cell == "B6" and sentence.startswith("The same e-mail address stands in row 5. ")
    assert "leave this row out" in sentence and "an address of their own" in sentence
    assert [row.bad for row in rows] == [True, True, True, False, True, True]


def test_leaving_the_first_twin_out_frees_the_second() -> None:
    rows = people("A,t@x.example\nB,t@x.example\n", choices=Choices(left_out=frozenset({2})))
    assert [row.bad for row in rows] == [False, False]
    assert [row.counted for row in rows] == [False, True]


def test_a_correction_mends_a_row() -> None:
    (row,) = people(
        "Bea,nonsense\n", choices=Choices(fixes={2: {"email": "bea@x.example", "nonsense": "x"}})
    )
    assert row.counted and row.person["email"] == "bea@x.example"


def test_uk_is_read_as_gb_with_a_note() -> None:
    # ISO 3166-1: the code of the United Kingdom is GB; UK is only reserved.
    (row,) = people("Bea,b@x.example,Lane,Town,EC1Y 8SY,UK\n")
    assert row.counted and row.person["country"] == "GB"
    assert row.warnings == ("UK was read as GB (United Kingdom).",)


def test_a_strange_postcode_is_a_warning_only() -> None:
    (row,) = people("Bea,b@x.example,Lane,Town,1067,Germany\n")
    assert row.counted
    assert "1067" in row.warnings[0] and "leading zero" in row.warnings[0]


def test_names_and_streets_are_put_together_from_their_parts() -> None:
    sheet = read_roster(
        b"Vorname,Nachname,Mail,Strasse,Hausnummer,Adresszusatz\nAda,Test,a@x.example,Bogenweg,7,Hof\n"
    )
    found = match_columns(sheet)
    rows = rows_below(sheet, 1)
    (row,) = read_people(rows, found.fields, heads=6, on_file={}, choices=Choices())
    assert row.person["name"] == "Ada Test"
    assert row.person["street"] == "Bogenweg 7\nHof"


def test_a_known_student_shows_differences_and_an_empty_cell_is_none() -> None:
    known = {
        "a@x.example": Known({**RECORD, "country": "DE", "city": "Old Town", "street": "Lane 1"})
    }
    (row,) = people("Ada,A@x.example,,New Town,,\n", known)
    assert row.standing == "known" and row.counted
    assert [(d.label, d.have, d.comes) for d in row.differences] == [
        ("City", "Old Town", "New Town")
    ]


def test_who_is_on_the_run_with_the_same_details_is_named_and_stands_in_the_way() -> None:
    known = {"a@x.example": Known({**RECORD, "country": ""}, on_run=True)}
    (row,) = people("Ada,a@x.example\n", known)
    assert row.bad and row.standing == "on_run" and "Already on this run" in said(row)[0][1]


def test_who_withdrew_is_enrolled_again_with_a_warning() -> None:
    known = {"a@x.example": Known({**RECORD, "country": ""}, on_run=True, withdrawn=True)}
    (row,) = people("Ada,a@x.example\n", known)
    assert row.counted and "Withdrew" in row.warnings[0]


def test_texts_longer_than_their_room_are_faults() -> None:
    (row,) = people(f"{'A' * 121},a@x.example\n")
    assert said(row) == [("A2", "Name is longer than 120 characters.")]


# RFC 5321 section 4.5.3.1: local part 64 octets, path 256 with its brackets, so an address 254.
LONG_DOMAIN = ".".join(["d" * 61] * 3)


@pytest.mark.parametrize(
    ("address", "fine"),
    [
        ("a" * 64 + "@x.example", True),
        ("a" * 65 + "@x.example", False),
        ("a" * 64 + "@" + LONG_DOMAIN + ".dex", True),
        ("a" * 64 + "@" + LONG_DOMAIN + ".dexx", False),
        ("x@müller.example", True),
        ("müller@x.example", False),
        ("a b@x.example", False),
        ("a@x", False),
        ("a@x,example", False),
        ("a@@x.example", False),
        ("a@localhost", False),
        ("a@[127.0.0.1]", False),
        ("a\n@x.example", False),
        ("", False),
    ],
)
def test_email_addresses(address: str, fine: bool) -> None:
    assert len("a" * 64 + "@" + LONG_DOMAIN + ".dex") == 254
    assert (email_fault(address) == "") is fine


@pytest.mark.parametrize(
    ("text", "code"),
    # ISO 3166-1 alpha-2, alpha-3 and numeric codes, and names.
    [
        ("DE", "DE"),
        ("deu", "DE"),
        ("276", "DE"),
        ("Österreich", "AT"),
        ("U.S.A.", "US"),
        ("Scotland", "GB"),
        ("x", ""),
    ],
)
def test_countries(text: str, code: str) -> None:
    assert country_of(text)[0] == code


def test_postcodes_are_judged_by_the_country() -> None:
    assert postcode_warning("EC1Y 8SY", "GB") == ""
    assert postcode_warning("ec1y8sy", "GB") == ""
    assert "look like" in postcode_warning("1", "GB")
    assert postcode_warning("anything", "AE") == ""


def asked(row: PersonRow) -> dict[str, str]:
    return {question.key: question.sentence for question in row.open_questions}


def test_a_row_with_more_cells_than_heads_is_asked_about_and_never_shifted_in_silence() -> None:
    rows = people(
        "Ada,a@x.example,Lane 1, Apt 1,Rosinburg,12345,DE\n"
        "Bea,b@x.example,Lane 1, Apt 1,Rosinburg,12345,\n"
        "Cai,c@x.example,Lane 2,Rosinburg,12345,DE\n"
    )
    assert [row.person["city"] for row in rows] == ["Rosinburg"] * 3
    assert rows[0].person["street"] == "Lane 1, Apt 1"
    assert rows[0].bad and not rows[0].counted and not rows[2].bad
    for row in rows[:2]:
        assert "7 cells for 6 heads" in asked(row)["cells"]
        assert "“Lane 1, Apt 1” was read as one cell" in asked(row)["cells"]


def test_cells_that_no_reading_fits_are_left_to_a_person() -> None:
    (row,) = people("Ada,Berg,a@x.example,Lane 1,Apt 1,Rosinburg,x,y\n")
    assert "may have moved" in asked(row)["cells"]
    (mended,) = people(
        "Ada,Berg,a@x.example,Lane 1,Apt 1,Rosinburg,x,y\n",
        choices=Choices(
            fixes={
                2: {
                    "email": "a@x.example",
                    "street": "Lane 1",
                    "city": "Rosinburg",
                    "postcode": "",
                    "country": "",
                }
            },
            answers={2: asked(row)},
        ),
    )
    assert mended.counted


def test_cells_moved_within_the_heads_are_asked_about() -> None:
    (row,) = people("Ada,a@x.example,Lane 1, Apt 1,Rosinburg\n")
    assert "“Apt 1” as the city" in asked(row)["moved"] and "“Rosinburg”" in asked(row)["moved"]
    choices = Choices(answers={2: asked(row)})
    (row,) = people("Ada,a@x.example,Lane 1, Apt 1,Rosinburg\n", choices=choices)
    assert row.counted


def test_two_students_with_one_postal_address_are_asked_about_and_the_answer_holds() -> None:
    table = (
        "Ada,a@x.example,Lane 1,Rosinburg,12345,DE\n"
        "Bea,b@x.example,LANE 1,rosinburg,12345,DE\n"
        "Cai,c@x.example,,Rosinburg,12345,DE\n"
    )
    rows = people(table)
    assert [bool(row.open_questions) for row in rows] == [False, True, False]
    assert "Ada (row 2) has the same postal address" in asked(rows[1])["postal"]
    answered = people(table, choices=Choices(answers={3: asked(rows[1])}))
    assert all(row.counted for row in answered)
    other_words = people(table, choices=Choices(answers={3: {"postal": "another question"}}))
    assert other_words[1].bad


def test_a_student_on_file_at_the_same_address_is_asked_about_too() -> None:
    sheet = read_roster((HEAD + "Ada,new@x.example,Lane 1,Rosinburg,12345,DE\n").encode())
    found = match_columns(sheet)
    (row,) = read_people(
        rows_below(sheet, found.head_row),
        found.fields,
        heads=len(found.heads),
        on_file={},
        choices=Choices(),
        at_home={"lane 1|12345": [Dweller("on file", "Ada", "old@x.example")]},
    )
    assert "Ada (on file) has the same name and postal address" in asked(row)["postal"]
    assert "old@x.example" in asked(row)["postal"]


def test_an_address_that_is_somebody_elses_on_file_is_asked_about() -> None:
    known = {"a@x.example": Known({**RECORD, "name": "Zoe Berg", "country": ""})}
    (row,) = people("Ada,a@x.example\n", known)
    assert "belongs to Zoe Berg" in asked(row)["name"] and row.bad
    same = {"a@x.example": Known({**RECORD, "name": "Adá Maria", "country": ""})}
    assert not people("Ada,a@x.example\n", same)[0].bad


def test_the_language_of_mails_is_read_by_name_or_code() -> None:
    sheet = read_roster(b"Name,E-mail,Sprache\nAda,a@x.example,Deutsch\nBea,b@x.example,Elvish\n")
    found = match_columns(sheet)
    rows = rows_below(sheet, found.head_row)
    ada, bea = read_people(rows, found.fields, heads=3, on_file={}, choices=Choices())
    assert ada.person["language"] == "de" and ada.counted
    assert said(bea)[0][0] == "C3" and "“Elvish” is no language" in said(bea)[0][1]
