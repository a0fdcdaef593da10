"""What is said before printing is what printing then finds."""

import pytest

from rentals.codes import make_code
from rentals.paper.address_labels import address_labels
from rentals.paper.coverage import coverage, texts_of
from rentals.paper.facts import Address, AddressLabelFacts, LabelFacts
from rentals.paper.fonts import fonts_at_hand
from rentals.paper.labels import kit_labels

NAMES = [
    "Mila 🎻",
    "สมชาย",
    "देवी",
    "王小明",
    "김하늘",
    "Łucja Żak",
    "Ελένη",
    "Борис",
    "שרה",
    "محمد",
    "𝔊ustav",
]


@pytest.mark.parametrize("name", NAMES)
def test_it_names_the_same_texts_as_the_finished_label(name, no_fonts_found):
    facts = AddressLabelFacts(Address(name, "Bow Lane 1", "Rosinburg", "12345", country="DE"))
    printed = address_labels([facts])
    asked = coverage(texts_of(facts), fonts_at_hand())
    assert (asked.unprintable, asked.borrowed) == (printed.unprintable, printed.borrowed)


def test_the_sample_has_texts_of_all_three_sorts(no_fonts_found):
    found = coverage(NAMES, fonts_at_hand())
    assert found.unprintable[0] == "Mila 🎻 (U+1F3BB)"
    assert "王小明" in found.borrowed
    assert not coverage(["Łucja Żak", "plain"], fonts_at_hand())


def test_texts_are_found_in_nested_facts_and_lines_apart():
    label = LabelFacts(make_code("K", 1), "Kit 🎻", ("two\n🎺 lines",), owner="Ease")
    asked = coverage(texts_of(label), fonts_at_hand())
    assert asked.unprintable == ("Kit 🎻 (U+1F3BB)", "🎺 lines (U+1F3BA)")
    assert kit_labels([label]).unprintable[0] == asked.unprintable[0]
