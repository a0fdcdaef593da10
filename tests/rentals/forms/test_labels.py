import pytest
from django.http import QueryDict

from rentals.forms.labels import MOST_TICKED, LabelForm, usual_sheet
from rentals.models import Practice
from rentals.paper.sheets import (
    KIT_SHEET,
    LETTER_PARCEL_SHEET,
    LETTER_SHEET,
    PARCEL_SHEET,
    TAG_SHEET,
)

pytestmark = pytest.mark.django_db


def form(query: str = "", kind: str = "") -> LabelForm:
    return LabelForm.from_address(QueryDict(query), kind)


@pytest.mark.parametrize(
    ("kind", "a4", "letter"),
    [
        ("kit", KIT_SHEET, LETTER_SHEET),
        ("part", TAG_SHEET, LETTER_SHEET),
        ("lead", TAG_SHEET, LETTER_SHEET),
        ("address", PARCEL_SHEET, LETTER_PARCEL_SHEET),
        ("return", PARCEL_SHEET, LETTER_PARCEL_SHEET),
    ],
)
def test_each_kind_has_its_usual_sheet_on_either_paper(kind, a4, letter):
    assert usual_sheet(kind, "A4") is a4
    assert usual_sheet(kind, "Letter") is letter


def test_an_address_that_asks_for_nothing_gets_kit_labels_from_the_first_on():
    Practice.current()
    empty = form()
    assert empty.is_valid()
    assert (empty.shown_kind, empty.cleaned_data["start"]) == ("kit", 1)
    assert empty.sheet_chosen() == KIT_SHEET
    assert form("kind=violin").shown_kind == "kit"


def test_another_kind_than_was_shown_begins_on_its_own_sheet_with_nothing_ticked():
    changed = form("kind=part&of=kit&start=9&nudge_right=2&code=K0001A")
    assert changed.is_valid()
    assert changed.sheet_chosen() == TAG_SHEET
    assert (changed.cleaned_data["start"], changed.ticked_codes) == (1, [])


def test_the_kind_of_a_page_of_its_own_goes_before_the_address():
    assert form("kind=lead", kind="part").shown_kind == "part"


def test_each_code_counts_once_and_no_more_than_can_be_ticked():
    codes = "&".join(f"code=K{number:04}" for number in range(MOST_TICKED + 5))
    many = form(f"code=K0000&{codes}")
    assert many.is_valid()
    assert len(many.selection().ticked) == MOST_TICKED


@pytest.mark.parametrize(
    ("typed", "number"), [("12", 12), ("", None), ("x", None), ("9" * 19, None)]
)
def test_only_a_number_of_a_row_names_a_loan(typed, number):
    assert form(f"kind=address&loan={typed}").loan_number == number


def test_a_nudge_is_added_to_the_sheets_own():
    nudged = form("nudge_right=1.5&nudge_down=-2")
    assert nudged.is_valid()
    assert nudged.sheet_chosen().nudge == (1.5, -2.0)


def test_a_first_label_beyond_the_sheet_is_refused_with_how_many_there_are():
    beyond = form("start=22")
    assert not beyond.is_valid()
    assert beyond.errors["start"] == ["The sheet has labels 1 to 21."]
