from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from rentals.paper.facts import ChargeFacts, StatementFacts
from rentals.paper.statement import settling_statement

from .made_up import PARCEL, PRACTICE
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
    assert "To pay so far €35.01" in text
    settled = replace(SETTLED, deposit=Decimal(50), charges=CHARGES[:3])
    assert "Still to pay €35.01" in text_of(settling_statement(settled).pdf)
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
        "Provisional statement",
        "Open, not counted yet €22.00",
        "To be paid back if nothing more is charged €64.99",
        "not settled yet",
        "desk@ease.example",
    ):
        assert part in text


def test_a_clean_return_is_thanked_and_refunded_in_full():
    text = text_of(settling_statement(replace(SETTLED, charges=())).pdf)
    assert "rovisional" not in text
    assert "came back in order" in text
    assert "Paid back to you €150.00" in text


@pytest.mark.parametrize(
    ("paper", "size"), [("A4", (595.2756, 841.8898)), ("Letter", (612.0, 792.0))]
)
def test_it_is_one_page_of_the_paper_asked_for(paper, size):
    printed = settling_statement(SETTLED, paper=paper)
    assert page_sizes(printed.pdf) == [pytest.approx(size, abs=1e-3)]


def test_the_same_facts_give_the_same_bytes():
    assert settling_statement(SETTLED).pdf == settling_statement(SETTLED).pdf
