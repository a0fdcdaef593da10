"""Each debt leads to the page on which it is noted as paid."""

import pytest

from rentals.next_acts import money_way

pytestmark = pytest.mark.any_database


@pytest.mark.parametrize(
    ("debt", "route"),
    [
        ({"we_owe": True, "carrier": False, "ended": True}, "rentals:loan_paid"),
        ({"we_owe": False, "carrier": False, "ended": True}, "rentals:loan_paid"),
        ({"we_owe": False, "carrier": False, "ended": False}, "rentals:loan_deposit"),
        ({"we_owe": False, "carrier": True, "ended": False}, "rentals:loan_compensated"),
    ],
)
def test_a_debt_leads_to_its_page(debt, route):
    assert money_way(**debt).route == route
