import pytest

from rentals.paper.address_labels import address_labels
from rentals.paper.facts import Address, AddressLabelFacts

from .made_up import PRACTICE
from .reading import page_texts, text_of

HOME = Address("Ease at the Instrument", "Lindengang 4", "Musterhausen", "10999", country="DE")
IRISH = Address("Orla Byrne", "12 Harbour Row", "Galway", "H91 X2Y3", country="IE")


def test_labels_carry_sender_destination_kit_and_mass():
    facts = [
        AddressLabelFacts(IRISH, HOME, "K0014E", 1240),
        AddressLabelFacts(HOME, HOME, "K0015C", 980),
    ]
    printed = address_labels(facts, start=8)
    first, second = page_texts(printed.pdf)
    for part in (
        "Ease at the Instrument, Lindengang 4, 10999 MUSTERHAUSEN, GERMANY",
        "Orla Byrne",
        "IRELAND",
        "Kit K 0014 E",
        "1.240 kg",
    ):
        assert part in first
    assert "GERMANY" not in second
    assert "980 g" in second


def test_a_label_with_a_country_that_is_none_is_refused():
    with pytest.raises(ValueError, match="'QQ' is not a country code"):
        address_labels([AddressLabelFacts(Address("A", country="QQ"), HOME)])


def test_a_very_long_address_still_fits_its_label():
    street = "Lange Straße 1\nAufgang B\nHinterhaus\nbei Roth"
    long = Address(
        "Maximiliana Theodora von und zu Sonnenblumenfeld",
        street,
        "Bad Musterhausen an der Musterache",
        "12345",
        country="DE",
    )
    text = text_of(address_labels([AddressLabelFacts(long, PRACTICE.address)]).pdf)
    for part in (
        "Sonnenblumenfeld",
        "Aufgang B",
        "bei Roth",
        "12345 BAD MUSTERHAUSEN AN DER MUSTERACHE",
    ):
        assert part in text
