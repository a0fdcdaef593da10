"""A shortfall ends once, by one decision; a loan ends when all of its shortfalls have."""

from decimal import Decimal

import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive, finish_check
from rentals.actions.settle import charge, chase, recover, settle, waive
from rentals.errors import Refused
from rentals.models import Event, Loan, Part
from rentals.verify import verify
from tests.factories import packed_loan
from tests.rentals.actions.acts import all_back, shortfall_of

pytestmark = pytest.mark.django_db


def test_a_part_that_was_asked_for_is_still_to_be_decided():
    short = shortfall_of("charger")
    chase(short)
    short.refresh_from_db()
    assert (short.state, short.closed_at) == ("chased", None)
    with pytest.raises(Refused, match="Still open: Charger") as refusal:
        settle(short.loan)
    assert refusal.value.field == "shortfalls"
    recover(short)
    assert settle(short.loan).stage == "settled"


@pytest.mark.parametrize(
    ("decide", "state", "place"),
    [
        (lambda short: recover(short), "recovered", "spare"),
        (lambda short: charge(short, Decimal("22")), "charged", "lost"),
        (lambda short: waive(short, reason="worn out"), "waived", "lost"),
    ],
    ids=["recovered", "charged", "waived"],
)
def test_a_decision_ends_a_shortfall_once_and_says_where_the_part_is(decide, state, place):
    short = shortfall_of("charger")
    decide(short)
    short.refresh_from_db()
    assert (short.state, short.closed_at is None) == (state, False)
    assert Part.objects.get(kind="charger").place == place
    with pytest.raises(Refused, match=r"Charger is already"):
        waive(short, reason="once more")
    assert verify() == []


def test_counted_pieces_that_come_after_all_are_stock_again():
    short = shortfall_of("band", "back", quantity_back=1)
    item = short.packing_line.stock_item
    before = item.on_hand
    recover(short)
    item.refresh_from_db()
    assert item.on_hand == before + 1


def test_a_damaged_part_is_here_and_does_not_come_back():
    short = shortfall_of("lead_set", "damaged", damaged_lead="A")
    with pytest.raises(Refused, match="is here, damaged"):
        recover(short)
    short.refresh_from_db()
    assert short.state == "open"


def test_a_damaged_part_that_is_charged_is_not_lost():
    short = shortfall_of("lead_set", "damaged", damaged_lead="A")
    before = Part.objects.get(kind="lead_set").place
    charge(short, Decimal("45"), reason=" cut through ")
    short.refresh_from_db()
    assert (short.amount, short.reason) == (Decimal("45"), "cut through")
    assert Part.objects.get(kind="lead_set").place == before != "lost"


def test_a_charge_below_zero_and_a_waiver_without_reason_change_nothing():
    short = shortfall_of("charger")
    with pytest.raises(Refused, match="below zero") as refusal:
        charge(short, Decimal("-0.01"))
    assert refusal.value.field == "amount"
    with pytest.raises(Refused, match="Say why") as refusal:
        waive(short, reason="  ")
    assert refusal.value.field == "reason"
    short.refresh_from_db()
    assert short.state == "open"


def test_a_loan_is_settled_after_its_return_and_only_once():
    loan = packed_loan()
    with pytest.raises(Refused, match="after its return"):
        settle(loan)
    check = arrive(dispatch(loan.kit).kit)
    all_back(check)
    finish_check(check)
    settle(loan)
    settle(loan)
    assert Loan.objects.get().stage == "settled"
    assert Event.objects.filter(verb="settled").count() == 1
