"""What a roster leaves open, in words."""

import pytest

from rentals.roster.questions import (
    ANSWERS,
    Dweller,
    RowQuestion,
    moved_question,
    name_question,
    overfull_question,
    postal_key,
    postal_question,
)

pytestmark = pytest.mark.any_database


def home(street: str, city: str = "Rosinburg", postcode: str = "12345") -> dict[str, str]:
    return {"street": street, "city": city, "postcode": postcode}


def test_capitals_accents_and_punctuation_make_no_other_address() -> None:
    assert postal_key(home("Bögen-Weg 7.")) == postal_key(home("BOGEN WEG 7"))
    assert postal_key(home("Lane 1")) != postal_key(home("Lane 2"))
    assert postal_key(home("")) == "" == postal_key(home("Lane 1", "", ""))


@pytest.mark.parametrize(
    ("on_file", "name", "asked"),
    [
        ("Ada Berg", "Berg Ada", False),
        ("Ada Berg", "Ada Maria Berg", False),
        ("Zoë Berg", "ZOE BERG", False),
        ("Ada Berg", "Zoe Berg", True),
        ("", "Ada", False),
    ],
)
def test_another_name_is_asked_about(on_file: str, name: str, asked: bool) -> None:
    assert bool(name_question(on_file, name)) is asked


def test_an_address_in_order_is_not_asked_about() -> None:
    assert moved_question(home("Lane 1, Apt 1")) == ""
    assert moved_question(home("Lane 1", "Paris 12e", "75012")) == ""
    assert "“4” as the city" in moved_question(home("Lane", "4"))


def test_every_question_says_what_to_do() -> None:
    assert "quotation marks" in overfull_question("7 cells", "6 heads", "")
    assert "same name" in postal_question(Dweller("row 2", "Ada", "a@x.example"), "ADA")
    assert "live there" in postal_question(Dweller("row 2", "Ada", "a@x.example"), "Bea")
    assert all(RowQuestion(key, "").answer == words for key, words in ANSWERS.items())
