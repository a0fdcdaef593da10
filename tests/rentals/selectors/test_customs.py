"""What holds for a parcel: the owner's answer for its destination, else the table."""

import pytest

from rentals.actions.customs import answer_customs
from rentals.paper.customs import place_named
from rentals.paper.facts import Address
from rentals.selectors.customs import customs_between, customs_finding

pytestmark = pytest.mark.django_db
HOME = Address("S", "S 1", "Town", "10999", country="DE")


def to(country: str, postcode: str = "") -> Address:
    return Address("A", "S 1", "Town", postcode, country=country)


def test_the_table_speaks_until_the_owner_does() -> None:
    finding = customs_finding(HOME, to("FI", "22100"))
    assert finding.paper_needed and "outside its VAT territory)" in finding.sentence
    answer_customs("de", "aland", needed=False, note="Asked at the counter.")
    finding = customs_finding(HOME, to("AX", "22100"))
    assert not finding.paper_needed and finding.worth_saying
    assert "by your own answer" in finding.sentence and "Asked at the counter." in finding.sentence
    assert customs_finding(HOME, to("FI", "00100")).worth_saying is False


def test_an_unclear_way_offers_the_paper_and_says_to_ask(django_assert_num_queries) -> None:
    gb = Address("S", "S 1", "Leeds", "LS1 1AA", country="GB")
    finding = customs_finding(gb, to("GB", "BT1 1AA"))
    assert finding.paper_needed and "ask your carrier" in finding.sentence
    with django_assert_num_queries(0):
        assert not customs_finding(HOME, to("DE", "10115")).worth_saying
    assert customs_finding(None, HOME) is None


def test_two_places_by_name() -> None:
    assert customs_between(place_named("de"), place_named("ch")).paper_needed
