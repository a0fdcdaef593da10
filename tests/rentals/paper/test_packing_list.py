from dataclasses import replace

import pytest

from rentals.codes import grouped
from rentals.paper.packing_list import packing_list

from .made_up import LINES, PARCEL, PRACTICE, Line
from .reading import codes_in, page_sizes, page_texts, picture, poor, text_of


@pytest.mark.parametrize(
    ("paper", "size"),
    [("A4", (595.2756, 841.8898)), ("Letter", (612.0, 792.0))],  # ISO 216 and ANSI A in points
)
@pytest.mark.parametrize("inside", [False, True])
def test_a_normal_kit_is_one_page(paper, size, inside):
    printed = packing_list(PARCEL, inside_copy=inside, paper=paper)
    assert page_sizes(printed.pdf) == [pytest.approx(size, abs=1e-3)]
    assert printed.pages == 1


def test_it_says_who_what_and_until_when():
    text = text_of(packing_list(PARCEL).pdf)
    for part in (
        "Packing list",
        "Łucja Ábrahám",
        "spring 2027",
        "Friday 18 June 2027",
        "26 February 2027",
    ):
        assert part in text
    assert "8 March 2027 to 4 June 2027" in text
    assert "K 0014 E" in text
    for line in LINES:
        assert line.name in text
        assert line.serial in text
        assert line.batch in text
        assert not line.part_code or grouped(line.part_code) in text
    assert "31 Oct 2027" in text


@pytest.mark.parametrize("locale", ["en-gb", "en_GB", "de-AT", "no such language"])
def test_it_prints_in_every_language_a_desk_can_be_set_to(locale):
    practice = replace(PARCEL.practice, locale=locale)
    text = text_of(packing_list(replace(PARCEL, practice=practice)).pdf)
    assert "2027" in text and ("31 " in text or "31. " in text)


def test_the_reason_of_an_override_is_on_the_inside_copy_only():
    assert PARCEL.override_reason not in text_of(packing_list(PARCEL).pdf)
    inside = text_of(packing_list(PARCEL, inside_copy=True).pdf)
    assert PARCEL.override_reason in inside
    assert "Packed without clearance (ilse)" in inside
    assert "Packed by" in inside
    assert "Packed without clearance" not in text_of(
        packing_list(replace(PARCEL, override_reason=""), inside_copy=True).pdf
    )


@pytest.mark.parametrize("dpi", [300, 150])
def test_the_code_reads_back_from_the_page(dpi):
    page = picture(packing_list(PARCEL).pdf, dpi=dpi)
    assert codes_in(page) == ["HTTPS://KITS.EASE.EXAMPLE/S/K0014E"]
    assert codes_in(poor(page)) == ["HTTPS://KITS.EASE.EXAMPLE/S/K0014E"]


def test_a_long_list_runs_on_with_its_head_and_loses_nothing():
    lines = tuple(Line(f"Piece number {n}", "card", inner_bag=f"Bag {n // 10}") for n in range(90))
    printed = packing_list(replace(PARCEL, lines=lines))
    texts = page_texts(printed.pdf)
    assert len(texts) == printed.pages > 2
    for number, text in enumerate(texts, start=1):
        assert f"Page {number} of {len(texts)}" in text
        assert "K 0014 E" in text
    for line in lines:
        assert any(f"{line.name} 1" in text for text in texts)


def test_long_names_are_set_smaller_and_then_cut_with_a_sign():
    parcel = replace(
        PARCEL, student="Maximiliana-Theodora " * 8, run="A run with a rather long name " * 6
    )
    text = text_of(packing_list(parcel).pdf)
    assert "Maximiliana-Theodora" in text
    assert "..." in text  # NFKC writes the ellipsis as three dots


def test_the_same_facts_give_the_same_bytes():
    assert packing_list(PARCEL).pdf == packing_list(PARCEL).pdf
    assert packing_list(PARCEL).pdf != packing_list(replace(PARCEL, student="Someone Else")).pdf


def test_an_empty_practice_still_prints():
    bare = replace(PRACTICE, instructor="", email="", phone="", address=None)
    assert PRACTICE.name in text_of(packing_list(replace(PARCEL, practice=bare)).pdf)


def test_what_cannot_be_printed_is_said_on_the_page_and_in_the_answer():
    printed = packing_list(replace(PARCEL, student="Mila 🎻"))
    assert printed.unprintable[0] == "Mila 🎻 (U+1F3BB)"
    assert "no font at this desk has" in text_of(printed.pdf)
    assert packing_list(PARCEL).unprintable == ()


@pytest.mark.parametrize("locale", ["en-gb", "de-at", "pl"])
def test_every_date_is_written_where_the_language_comes_with_its_country(locale):
    practice = replace(PRACTICE, locale=locale)
    assert "2027" in text_of(packing_list(replace(PARCEL, practice=practice)).pdf)
