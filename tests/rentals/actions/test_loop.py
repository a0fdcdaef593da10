"""A kit goes round the loop by its actions alone."""

import pytest

from rentals.actions.assign import assign
from rentals.actions.dispatch import dispatch
from rentals.actions.issue import clear
from rentals.actions.receive import (
    arrive,
    finish_check,
)
from rentals.actions.settle import settle
from rentals.errors import Refused
from rentals.verify import verify
from tests.factories import EnrolmentFactory, packed_loan
from tests.rentals.actions.acts import all_back, pack_all

pytestmark = pytest.mark.django_db


def test_a_kit_goes_out_comes_back_and_goes_out_again():
    loan = packed_loan()
    kit = loan.kit
    dispatch(kit, tracking_number="RR 1")
    kit.refresh_from_db()
    assert (kit.state, kit.cleared) == ("away", True)
    check = arrive(kit)
    kit.refresh_from_db()
    assert (kit.state, kit.cleared) == ("check", False)
    all_back(check)
    finish_check(check)
    kit.refresh_from_db()
    assert (kit.state, kit.cleared) == ("bench", False)
    next_enrolment = EnrolmentFactory(run__kit_type=kit.kit_type)
    with pytest.raises(Refused, match="not tested since"):
        pack_all(assign(kit, next_enrolment).kit)
    clear(kit, why="still, flex and lift fit")
    pack_all(kit)
    kit.refresh_from_db()
    assert kit.state == "packed"
    settle(loan)
    assert verify() == []
