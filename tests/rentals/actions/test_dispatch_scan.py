"""A pile of parcels is dispatched by scanning, and nothing wrong is taken for a number."""

import pytest

from rentals.actions.dispatch_scan import scan_for_dispatch
from rentals.codes import grouped
from rentals.errors import Refused
from tests.factories import assigned_loan, packed_loan

pytestmark = pytest.mark.django_db


def test_a_kit_then_its_number_and_both_again_change_nothing_more():
    loan, following = packed_loan(), packed_loan()
    kit = loan.kit.code
    assert scan_for_dispatch(kit).waiting == kit
    scan = scan_for_dispatch("AB 12 34", kit)
    assert (scan.sent, scan.waiting) == (loan, "")
    assert loan.enrolment.student.name in scan.sentence
    again = scan_for_dispatch("AB 12 34")
    assert again.sent is None and "is noted for kit" in again.sentence
    loan.refresh_from_db()
    assert (loan.stage, loan.tracking_number) == ("away", "AB1234")
    assert loan.events.filter(verb="dispatched").count() == 1
    with pytest.raises(Refused, match="belongs to the parcel of kit"):
        scan_for_dispatch("ab1234", following.kit.code)


def test_a_second_kit_says_that_the_first_stays_packed():
    first, second = packed_loan().kit.code, packed_loan().kit.code
    scan = scan_for_dispatch(second, first)
    assert scan.waiting == second
    assert scan.sentence.startswith(f"Kit {grouped(first)} has no number yet and stays packed.")


def test_what_is_neither_kit_nor_number_is_said_and_nothing_leaves():
    loan, open_loan = packed_loan(), assigned_loan()
    kit, part = loan.kit.code, loan.kit.parts.first()
    wrong_check = kit[:-1] + ("A" if kit[-1] != "A" else "B")
    for text, waiting, sentence in (
        ("AB1234", "", "Scan the kit first"),
        (wrong_check, kit, "does not hold together"),
        (part.code, kit, "is the label of no kit"),
        (part.serial, kit, "is the serial number of"),
        (open_loan.kit.code, kit, "is assigned: only a packed kit"),
        ("12", kit, "too short"),
        ("https://desk.example/s/nothing", kit, "is not a code"),
    ):
        with pytest.raises(Refused, match=sentence):
            scan_for_dispatch(text, waiting)
    loan.refresh_from_db()
    assert loan.stage == "packed"
