from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from rentals.paper.contents_statement import contents_statement, declared_lines, parcel_mass_g
from rentals.paper.facts import Address, ChargeFacts, StatementFacts
from rentals.paper.statement import settling_statement

from .made_up import LINES, PARCEL, PRACTICE
from .reading import page_sizes, text_of

CHARGES = (
    ChargeFacts("Licence key on USB stick", "missing", 1, Decimal("85.005"), "charged"),
    ChargeFacts("Lead set", "damaged", 1, Decimal(60), "waived", "worn out"),
    ChargeFacts("Elastic band", "missing", 2, Decimal(6), "recovered"),
    ChargeFacts("Charger", "missing", 1, Decimal(22), "open"),
)
SETTLED = StatementFacts(
    practice=PRACTICE,
    kit_code=PARCEL.kit_code,
    student=PARCEL.student,
    run=PARCEL.run,
    deposit=Decimal(150),
    settled_on=date(2027, 7, 2),
    charges=CHARGES,
    sent_on=date(2027, 2, 25),
    came_back_on=date(2027, 6, 16),
    address=PARCEL.address,
)


def test_charges_beyond_the_deposit_are_still_to_pay():
    text = text_of(settling_statement(replace(SETTLED, deposit=Decimal(50))).pdf)
    assert "Still to pay €35.01" in text
    assert "Paid back" not in text


def test_the_statement_names_every_shortfall_and_what_goes_back():
    text = text_of(settling_statement(SETTLED).pdf)
    for part in (
        "K 0014 E",
        "settled on 2 July 2027",
        "Sent 25 February 2027",
        "Back 16 June 2027",
        "Deposit paid €150.00",
        "Licence key on USB stick 1 missing, charged -€85.01",
        "Lead set (worn out) 1 damaged, waived -",
        "Elastic band 2 missing, recovered -",
        "Charged in all -€85.01",
        "Paid back to you €64.99",
        "not settled yet",
        "desk@ease.example",
    ):
        assert part in text


def test_a_clean_return_is_thanked_and_refunded_in_full():
    text = text_of(settling_statement(replace(SETTLED, charges=())).pdf)
    assert "came back in order" in text
    assert "Paid back to you €150.00" in text


def test_the_mass_of_the_parcel_is_that_of_its_parts():
    # 118 + 9 + 60 + 41 + 6 + 30 + 95 + 6 + 24 x 1 + 3 x 4 + 10 x 2 + 2 x 15 + 12 + 210 grams
    assert parcel_mass_g(LINES) == 673
    assert parcel_mass_g(LINES, wrapping_g=85) == 758


def test_the_contents_statement_has_value_mass_origin_and_its_caution():
    lines = (replace(LINES[0], origin="CZ"), *LINES[1:])
    parcel = replace(
        PARCEL,
        lines=lines,
        address=Address("Lea Roth", "Seegasse 3", "Zürich", "8001", country="CH"),
    )
    text = text_of(contents_statement(parcel, wrapping_g=85).pdf)
    for part in (
        "Contents statement",
        "temporary, will be returned by 18 June 2027",
        "GERMANY",
        "SWITZERLAND",
        "Two-lead amplifier 1 118 g €240.00 Czechia yes",
        "Pre-gelled electrodes 24 24 g €9.60 not known no, used",
        "Wrapping 85 g",
        "In all 49 758 g",
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
def test_both_are_one_page_of_the_paper_asked_for(paper, size):
    for printed in (
        contents_statement(PARCEL, paper=paper),
        settling_statement(SETTLED, paper=paper),
    ):
        assert page_sizes(printed.pdf) == [pytest.approx(size, abs=1e-3)]


def test_the_same_facts_give_the_same_bytes():
    assert settling_statement(SETTLED).pdf == settling_statement(SETTLED).pdf
    assert contents_statement(PARCEL).pdf == contents_statement(PARCEL).pdf


def test_many_charges_run_on_to_a_second_page_with_the_sums_at_the_end():
    charges = tuple(
        ChargeFacts(f"Part {n}", "missing", 1, Decimal(1), "charged") for n in range(60)
    )
    printed = settling_statement(replace(SETTLED, charges=charges))
    assert printed.pages == 2
    text = text_of(printed.pdf)
    assert "Statement, continued" in text
    assert "Charged in all -€60.00" in text
