"""The table of places unlike their country is sound."""

import re

import pytest

from rentals.paper.addresses import country_code
from rentals.paper.customs_places import AREAS, CHECKED, PLACES, SOURCE

pytestmark = pytest.mark.any_database


def test_every_place_is_found_by_a_country_and_says_what_makes_it_special() -> None:
    assert len({place.key for place in PLACES}) == len(PLACES)
    for place in PLACES:
        assert re.fullmatch(r"[a-z-]+", place.key) and place.words and place.where
        for country, begins in place.where:
            assert country == "IC" or country_code(country)
            assert re.fullmatch(r"([A-Z0-9]+(\|[A-Z0-9]+)*)?", begins)
    assert PLACES[0].postcodes == "ES 35, 38; IC"


def test_the_table_names_its_source_and_its_day() -> None:
    assert "952/2013, article 4" in SOURCE and "2006/112/EC" in SOURCE
    assert "2026" in CHECKED and "from memory" in CHECKED
    assert len([area for area in AREAS.values() if area == AREAS["DE"]]) == 27
