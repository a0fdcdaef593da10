"""Countries as people write them."""

import pytest

from rentals.roster.addresses import country_of


@pytest.mark.parametrize("text", ["²", "１", "٣", "④", "x" * 3000, "0" * 400])
def test_odd_digits_and_long_words_are_no_country(text):
    assert country_of(text) == ("", "")


@pytest.mark.parametrize(
    ("text", "code"), [("de", "DE"), ("DEU", "DE"), ("040", "AT"), ("Österreich", "AT")]
)
def test_codes_of_iso_3166_1_and_names_are_read(text, code):
    """ISO 3166-1: alpha-2, alpha-3 and numeric code."""
    assert country_of(text) == (code, "")


def test_the_reserved_uk_stands_for_gb():
    assert country_of("UK")[0] == "GB"
