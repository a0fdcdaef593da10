"""Tables that run over the page."""

from decimal import Decimal

from rentals.paper.facts import ChargeFacts
from rentals.paper.statement import settling_statement

from .reading import page_texts, text_of
from .test_statement import SETTLED, with_money


def test_many_charges_run_on_to_a_second_page_with_the_sums_at_the_end():
    charges = tuple(
        ChargeFacts(f"Part {n}", "missing", 1, Decimal(1), "charged") for n in range(60)
    )
    printed = settling_statement(with_money(SETTLED, Decimal(150), charges=charges))
    assert printed.pages == 2
    text = text_of(printed.pdf)
    assert "Statement, continued Łucja Ábrahám, kit K 0014 E" in text
    assert "Charged to you on 2 July 2027 -€60.00" in text


def test_heads_of_columns_stand_only_where_a_row_does_and_the_sums_stay_together():
    for count in range(22, 36):
        charges = tuple(
            ChargeFacts(f"Part {n}", "missing", 1, Decimal(1), "charged") for n in range(count)
        )
        for page in page_texts(
            settling_statement(with_money(SETTLED, Decimal(150), charges=charges)).pdf
        ):
            with_rows = "missing, charged" in page or "Deposit paid" in page
            assert ("what became of it" in page) == with_rows
            assert ("In all" in page) == ("Deposit paid" in page) == ("be paid back" in page)
