"""Tables that run over the page."""

from dataclasses import replace
from decimal import Decimal

from rentals.paper.facts import ChargeFacts
from rentals.paper.statement import settling_statement

from .reading import text_of
from .test_statement import SETTLED


def test_many_charges_run_on_to_a_second_page_with_the_sums_at_the_end():
    charges = tuple(
        ChargeFacts(f"Part {n}", "missing", 1, Decimal(1), "charged") for n in range(60)
    )
    printed = settling_statement(replace(SETTLED, charges=charges))
    assert printed.pages == 2
    text = text_of(printed.pdf)
    assert "Statement, continued" in text
    assert "Charged in all -€60.00" in text
