"""Whether a parcel leaves the customs or tax area it is posted in."""

import pytest

from rentals.paper.customs import (
    PaperVerdict,
    crossing,
    place_named,
    place_of,
    way_between,
)
from rentals.paper.facts import Address

pytestmark = pytest.mark.any_database
NONE, NEEDED, UNCLEAR = PaperVerdict.NONE, PaperVerdict.NEEDED, PaperVerdict.UNCLEAR


def at(country: str, postcode: str = "", city: str = "Town") -> Address:
    return Address("S", "S 1", city, postcode, country=country)


@pytest.mark.parametrize(
    ("home", "away", "postcode", "verdict"),
    [
        ("DE", "DE", "10115", NONE),
        ("DE", "IE", "H91", NONE),
        ("DE", "MC", "98000", NONE),
        ("DE", "PT", "9000-001", NONE),  # Madeira lies inside both areas.
        ("DE", "CH", "8001", NEEDED),
        ("DE", "GB", "N1", NEEDED),
        ("DE", "NO", "0150", NEEDED),
        ("DE", "AD", "AD500", NEEDED),
        ("DE", "SM", "47890", NEEDED),
        ("CH", "LI", "9490", NONE),
        ("US", "CA", "M5V", NEEDED),
        ("ES", "ES", "35001", NEEDED),
        ("ES", "ES", "51001", NEEDED),
        ("ES", "ES", "52001", NEEDED),
        ("DE", "DE", "27498", NEEDED),
        ("DE", "DE", "78266", NEEDED),
        ("CH", "DE", "78266", NONE),
        ("IT", "IT", "23041", NEEDED),
        ("IT", "IT", "22061", NEEDED),
        ("FI", "FI", "FI-22 100", NEEDED),
        ("FI", "AX", "22100", NEEDED),
        ("GR", "GR", "630 86", NEEDED),
        ("FR", "FR", "97410", NEEDED),
        ("FR", "RE", "97410", NEEDED),
        ("FR", "FR", "98800", NEEDED),
        ("FR", "FR", "75001", NONE),
        ("DK", "GL", "3900", NEEDED),
        ("DK", "FO", "100", NEEDED),
        ("NO", "NO", "9170", NEEDED),
        ("NO", "SJ", "9170", NEEDED),
        ("GB", "IM", "IM1 1AA", NONE),
        ("GB", "JE", "JE2 3AB", NEEDED),
        ("GB", "GB", "GY1 1AA", NEEDED),
        ("GB", "GB", "BF1 2AA", NEEDED),
        ("GB", "GB", "BT1 1AA", UNCLEAR),
        ("IE", "GB", "BT1 1AA", NONE),
        ("US", "GB", "BT1 1AA", NEEDED),
        ("US", "US", "09499", NEEDED),
        ("US", "US", "34002-1234", NEEDED),
        ("US", "PR", "00901", NONE),
        ("US", "US", "00802", NEEDED),
        ("US", "GU", "96910", NEEDED),
        ("US", "US", "10001", NONE),
    ],
)
def test_the_way_to_a_place(home: str, away: str, postcode: str, verdict: PaperVerdict) -> None:
    way = crossing(at(home, "10999" if home == "DE" else ""), at(away, postcode))
    assert way and way.verdict == verdict
    # What leaves an area on the way out leaves the other one on the way back.
    back = crossing(at(away, postcode), at(home))
    assert back and back.verdict == verdict


def test_military_post_is_seen_by_its_words_too() -> None:
    assert place_of(at("US", city="APO AE")).key == "us-military-post"
    assert place_of(at("GB", city="BFPO 57")).key == "british-forces-post"
    assert place_of(at("US", city="Apopka")).key == "us"


def test_parcels_inside_a_special_place_need_nothing() -> None:
    way = crossing(at("ES", "35001"), at("ES", "38001"))
    assert way and way.verdict == NONE


def test_where_a_country_is_not_known_nobody_can_tell() -> None:
    assert crossing(at(""), at("CH")) is None
    with pytest.raises(ValueError, match="XX"):
        crossing(at("DE"), at("XX"))


def test_places_are_found_by_their_key() -> None:
    heligoland, germany = place_named("heligoland"), place_named("de")
    assert heligoland and germany and germany.name == "Germany"
    assert way_between(germany, heligoland).verdict == NEEDED
    assert place_named("nowhere") is None and place_named("xx") is None
