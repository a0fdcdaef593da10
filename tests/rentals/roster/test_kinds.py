"""What texts look like, whatever their heading says."""

import pytest

from rentals.roster.kinds import (
    has_digit,
    is_part_of_a_street,
    is_phone,
    is_postcode,
    is_words,
    share_that_looks_like,
)

pytestmark = pytest.mark.any_database


@pytest.mark.parametrize("text", ["10115", "EC1Y 8SY", "1010 AB", "00-950", "D02 AF30"])
def test_postcodes(text: str) -> None:
    assert is_postcode(text) and has_digit(text)


@pytest.mark.parametrize("text", ["Apt 1", "Flat 2B", "12", "4a", "Whg. 7", "# 12", "3rd floor"])
def test_parts_of_a_street(text: str) -> None:
    assert is_part_of_a_street(text)


@pytest.mark.parametrize("text", ["Rosinburg", "Paris 12e", "Praha 1", "Flatbush", "Suitland"])
def test_towns_are_no_part_of_a_street(text: str) -> None:
    assert not is_part_of_a_street(text)


def test_phones_and_words() -> None:
    assert is_phone("+49 30 5550-0199 ext. 3") and not is_phone("10115")
    assert is_words("Ada Berg") and not is_words("ada@x.example") and not is_words("10115")


def test_shares() -> None:
    assert share_that_looks_like("email", ["a@x.example", "Ada", ""]) == 0.5
    assert share_that_looks_like("email", [""]) == 1.0
    assert share_that_looks_like("street2", ["anything"]) == 1.0
    assert share_that_looks_like("country", ["Österreich", "DE"]) == 1.0
