"""Facts of the papers that follow from others."""

from __future__ import annotations

from decimal import Decimal

import pytest

from rentals.paper.facts import ChargeFacts, PackingLineFacts
from rentals.planning.settlement import Claim


@pytest.mark.parametrize(
    ("facts", "used_up"),
    [({}, False), ({"single_use": True}, True), ({"comes_back": False}, True)],
)
def test_a_piece_is_used_up_where_nothing_of_it_is_expected_back(facts, used_up):
    assert PackingLineFacts("Swabs", "swabs", **facts).used_up == used_up


def test_a_charge_counts_as_the_settlement_counts_it():
    charge = ChargeFacts("Charger", "missing", 1, Decimal(22), "charged")
    assert charge.claim == Claim(Decimal(22), "charged")
