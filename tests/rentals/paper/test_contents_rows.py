"""The rows of a packing list under their bags."""

from dataclasses import replace

from rentals.paper.contents_rows import LOOSE
from rentals.paper.packing_list import packing_list
from rentals.planning.contents import by_inner_bag

from .made_up import LINES, PARCEL, Line
from .reading import page_texts, text_of


def test_what_is_used_up_and_what_comes_back_differ_in_words():
    text = text_of(packing_list(PARCEL).pdf)
    assert text.count("used up, do not return") == 2
    assert text.count("comes back") + text.count("cleaned, back") == 12
    assert text.count("cleaned, back") == 2
    assert "12 lines come back, 15 in all" in text


def test_bags_follow_the_order_of_packing():
    assert list(by_inner_bag(LINES, LOOSE)) == [
        "Padded pouch",
        "Lead bag",
        "Power bag",
        "Consumables",
        "Loose in the box",
    ]
    text = text_of(packing_list(PARCEL).pdf)
    places = [
        text.index(what)
        for what in ("Two-lead amplifier", "Lead set", "Charger", "Skin swabs", "Posting box")
    ]
    assert places == sorted(places)


def test_a_bag_that_runs_over_the_page_is_named_again():
    lines = tuple(Line(f"Piece number {n}", "card", inner_bag="Big bag") for n in range(40))
    first, *later = page_texts(packing_list(replace(PARCEL, lines=lines)).pdf)
    assert "Big bag, continued" not in first
    assert "Big bag, continued" in later[0]
