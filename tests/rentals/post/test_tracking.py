"""A carrier's address takes a tracking number and nothing else."""

import pytest

from rentals.post.tracking import pattern_fault, tracking_address

GOOD = "https://parcels.example/track?id={number}&lang=en"


@pytest.mark.parametrize("pattern", [GOOD, "https://parcels.example:8443/{number}/#parcel"])
def test_an_address_with_a_place_for_the_number_is_good(pattern):
    assert pattern_fault(pattern) == ""


@pytest.mark.parametrize(
    ("pattern", "sentence"),
    [
        ("https://parcels.example/", "Put {number} once"),
        (GOOD + "{number}", "Put {number} once"),
        (GOOD + "{name}", "Only {number} has braces"),
        ("https://parcels.example/a b/{number}", "blank"),
        ('https://parcels.example/"{number}', "sign that no address has"),
        ("https://parcels.example/<{number}>", "sign that no address has"),
        ("https://pärcels.example/{number}", "sign that no address has"),
        ("http://parcels.example/{number}", "begin with https"),
        ("javascript:alert({number})", "begin with https"),
        ("//parcels.example/{number}", "begin with https"),
        ("https://{number}.example/", "by itself"),
        ("https://me@parcels.example/{number}", "by itself"),
        ("https:///{number}", "name a site"),
        ("https://localhost/{number}", "name a site"),
        ("https://[parcels/{number}", "no address of a site"),
        ("https://parcels.example/{number}" + "x" * 300, "longer than 300"),
    ],
)
def test_anything_else_says_why(pattern, sentence):
    assert sentence in pattern_fault(pattern)


def test_a_number_stays_one_piece_of_the_address():
    assert tracking_address(GOOD, "AB 12/3?&#\"<'é") == (
        "https://parcels.example/track?id=AB%2012%2F3%3F%26%23%22%3C%27%C3%A9&lang=en"
    )
    assert tracking_address("", "AB12") == tracking_address(GOOD, "") == ""
