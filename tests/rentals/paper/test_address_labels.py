from itertools import pairwise

import pytest

from rentals.paper.address_labels import address_labels, too_small_for_addresses
from rentals.paper.facts import Address, AddressLabelFacts
from rentals.paper.sheets import (
    KIT_SHEET,
    LETTER_PARCEL_SHEET,
    LETTER_SHEET,
    PARCEL_SHEET,
    TAG_SHEET,
)

from .boxes import drawn_texts, trouble_on_sheet
from .made_up import PRACTICE
from .reading import page_texts, text_of

pytestmark = pytest.mark.any_database

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


LONG = Address(
    "Maximiliana Theodora von und zu Sonnenblumenfeld",
    "Lange Straße 1\nAufgang B\nHinterhaus",
    "Bad Musterhausen an der Musterache",
    "4020",
    country="AT",
)
ARABIC = Address("سارة العلي", "شارع الملك فهد 12", "الرياض", "11564", country="SA")
HEBREW = Address("שרה כהן", "רחוב הדקל 17", "תל אביב", "61000", country="IL")


def sizes(printed) -> list[float]:
    return [text.size for text in drawn_texts(printed.pdf)[0]]


@pytest.mark.parametrize("sheet", [KIT_SHEET, PARCEL_SHEET, LETTER_PARCEL_SHEET])
def test_no_line_covers_another_and_all_stay_on_their_label(sheet):
    addresses = [IRISH, ARABIC, HEBREW, HOME]
    addresses += [] if sheet is KIT_SHEET else [LONG]
    facts = [
        AddressLabelFacts(to, HOME, "K0014E", 1240, phone="+353 91 555 0137") for to in addresses
    ]
    printed = address_labels(facts, sheet)
    assert trouble_on_sheet(printed.pdf, sheet) == []
    assert max(sizes(printed)) <= 14
    names = [t for t in drawn_texts(printed.pdf)[0] if t.text.strip() in ("IRELAND", "Orla Byrne")]
    assert len(names) == 2 and min(t.size for t in names) >= 8


def test_a_line_is_free_before_the_country_and_lines_have_one_distance():
    (texts,) = drawn_texts(address_labels([AddressLabelFacts(IRISH, HOME)]).pdf)
    large = [text for text in texts if text.size == 14]
    assert [text.text.strip() for text in large][-1] == "IRELAND"
    steps = [b.baseline - a.baseline for a, b in pairwise(large)]
    assert steps[:-1] == pytest.approx([steps[0]] * (len(steps) - 1), abs=0.01)
    assert steps[-1] == pytest.approx(2 * steps[0], abs=0.01)


@pytest.mark.parametrize("to", [ARABIC, HEBREW])
def test_scripts_that_run_from_the_right_end_at_one_right_edge(to):
    (texts,) = drawn_texts(address_labels([AddressLabelFacts(to, HOME)]).pdf)
    rows: dict[float, float] = {}
    for text in texts:
        if text.size == 14:
            row = round(text.baseline, 1)
            rows[row] = max(rows.get(row, 0), text.right)
    assert len(rows) >= 4
    assert max(rows.values()) - min(rows.values()) < 1.5


def test_the_receivers_telephone_number_stands_on_the_label():
    label = AddressLabelFacts(IRISH, HOME, phone="+353 91 555 0137")
    assert "Phone +353 91 555 0137" in text_of(address_labels([label]).pdf)
    assert "Phone" not in text_of(address_labels([AddressLabelFacts(IRISH, HOME)]).pdf)


@pytest.mark.parametrize(
    ("sheet", "larger"),
    [(TAG_SHEET, "63.5 x 38.1 mm, 3 x 7 (A4)"), (LETTER_SHEET, "101.6 x 84.6 mm, 2 x 3")],
)
def test_labels_too_small_for_an_address_are_refused_with_a_larger_sheet(sheet, larger):
    with pytest.raises(ValueError, match="too small for an address") as refused:
        address_labels([AddressLabelFacts(IRISH, HOME)], sheet)
    assert larger in str(refused.value)
    assert not too_small_for_addresses(KIT_SHEET)


def test_an_address_that_only_small_type_would_hold_is_refused_with_a_sheet_that_holds_it():
    labels = [AddressLabelFacts(LONG, HOME, "K0014E", 1240, phone="+43 1 555 0137")]
    with pytest.raises(ValueError, match="the address of Maximiliana") as refused:
        address_labels(labels, KIT_SHEET)
    assert f"it fits {PARCEL_SHEET.name}" in str(refused.value)
    endless = Address("A Name", "\n".join(f"Line {n}" for n in range(40)), "Town", country="DE")
    with pytest.raises(ValueError, match="shorten the address"):
        address_labels([AddressLabelFacts(endless, HOME)])
