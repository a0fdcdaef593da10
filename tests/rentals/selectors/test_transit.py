"""The table of the post in Setup."""

import pytest

from rentals.actions.transit import set_transit
from rentals.selectors.transit import transit_row, transit_rows

pytestmark = pytest.mark.django_db


def test_home_and_abroad_stand_first_set_or_not_and_countries_by_name() -> None:
    for place in ("ES", "AT", "abroad"):
        set_transit(place, days_out=4, days_back=5)
    rows = [(row.name, row.days_out, row.is_set) for row in transit_rows()]
    assert rows == [
        ("At home", 2, False),
        ("Abroad", 4, True),
        ("Austria", 4, True),
        ("Spain", 4, True),
    ]
    assert (transit_row("SE").days_out, transit_row("SE").is_set) == (6, False)
