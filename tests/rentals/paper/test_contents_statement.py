from dataclasses import replace
from decimal import Decimal

import pytest

from rentals.paper.contents_statement import contents_statement, declared_lines, parcel_mass_g
from rentals.paper.facts import Address

from .made_up import LINES, PARCEL
from .reading import page_sizes, text_of


def test_the_mass_of_the_parcel_is_that_of_its_parts():
    # 118 + 9 + 60 + 41 + 6 + 30 + 95 + 6 + 24 x 1 + 3 x 4 + 10 x 2 + 2 x 15 + 12 + 210 grams
    assert parcel_mass_g(LINES) == 673
    assert parcel_mass_g(LINES, wrapping_g=85) == 758


def test_the_contents_statement_has_value_mass_origin_and_its_caution():
    lines = (replace(LINES[0], origin="CZ", tariff_number="854370"), *LINES[1:])
    parcel = replace(
        PARCEL,
        lines=lines,
        address=Address("Lea Roth", "Seegasse 3", "Zürich", "8001", country="CH"),
        student_phone="+41 44 555 01 99",
        student_email="lea@x.example",
    )
    text = text_of(contents_statement(parcel, wrapping_g=85).pdf)
    for part in (
        "Contents statement",
        "temporary, will be returned by 18 June 2027",
        "GERMANY",
        "SWITZERLAND",
        "mass in kg",
        "Two-lead amplifier 854370 1 0.118 €240.00 €240.00 Czechia",
        "Pre-gelled electrodes (used up, stays) not known 24 0.024 €0.40 €9.60 not known",
        "Wrapping 0.085",
        "In all 49 0.758",
        "+49 30 5550 0199",
        "desk@ease.example",
        "+41 44 555 01 99",
        "lea@x.example",
        "Place, date and signature of the sender",
        "carrier's own form decides",
        "rented training equipment",
        "find out before you copy",
    ):
        assert part in text


def test_lines_of_one_name_are_declared_together():
    twice = (*LINES, replace(LINES[8], quantity=6, batch="EG-2612-A"))
    declared = {line.name: line for line in declared_lines(twice, "EUR")}
    assert (declared["Pre-gelled electrodes"].pieces, declared["Pre-gelled electrodes"].value) == (
        30,
        Decimal("12.00"),
    )
    assert len(declared) == len(LINES)


def test_an_origin_that_is_no_country_is_refused():
    with pytest.raises(ValueError, match="'QQ' is not a country code"):
        contents_statement(replace(PARCEL, lines=(replace(LINES[0], origin="QQ"),)))


@pytest.mark.parametrize(
    ("paper", "size"), [("A4", (595.2756, 841.8898)), ("Letter", (612.0, 792.0))]
)
def test_it_is_one_page_of_the_paper_asked_for(paper, size):
    printed = contents_statement(PARCEL, paper=paper)
    assert page_sizes(printed.pdf) == [pytest.approx(size, abs=1e-3)]


def test_the_same_facts_give_the_same_bytes():
    assert contents_statement(PARCEL).pdf == contents_statement(PARCEL).pdf


def test_the_statement_for_the_way_back_has_what_comes_back_and_the_other_sender():
    parcel = replace(
        PARCEL, address=Address("Lea Roth", "Seegasse 3", "Zürich", "8001", country="CH")
    )
    text = text_of(contents_statement(parcel, back=True).pdf)
    assert "Contents statement, way back" in text and "on its way back to its owner" in text
    assert "Pre-gelled electrodes" not in text and "Two-lead amplifier" in text
    assert text.index("Lea Roth") < text.index("Lindengang 4")


def test_pieces_of_another_price_are_declared_apart():
    dearer = (LINES[0], replace(LINES[0], price=Decimal(300)))
    assert [line.each for line in declared_lines(dearer, "EUR")] == [240, 300]
