"""What lets a kit go out, and what holds it back."""

import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.issue import (
    hold,
    override_gate,
    refuse_clearance,
    release,
    retire,
)
from rentals.actions.receive import (
    arrive,
)
from rentals.errors import Refused
from rentals.models import Part
from rentals.verify import verify
from tests.factories import assigned_loan, complete_kit
from tests.rentals.actions.acts import pack_all

pytestmark = pytest.mark.django_db


def test_the_owner_can_override_the_gate_and_the_reason_stays(owner):
    kit = complete_kit(cleared=False)
    loan = assigned_loan(kit)
    with pytest.raises(Refused, match="Only the owner"):
        override_gate(kit, reason="The student has a concert to prepare.", actor=None)
    override_gate(kit, reason="The student has a concert to prepare.", actor=owner)
    pack_all(kit)
    dispatch(kit)
    loan.refresh_from_db()
    kit.refresh_from_db()
    assert loan.override_reason == kit.override_reason == "The student has a concert to prepare."
    assert loan.cleared_at_packing is None
    arrive(kit)
    loan.refresh_from_db()
    assert loan.override_reason
    assert verify() == []


def test_holding_and_releasing_returns_the_kit_to_where_it_was():
    kit = complete_kit()
    hold(kit, reason="student reports a smell")
    kit.refresh_from_db()
    assert kit.state == "held"
    with pytest.raises(Refused, match="held"):
        assigned_loan(kit)
    release(kit)
    kit.refresh_from_db()
    assert (kit.state, kit.cleared, kit.hold_reason) == ("shelf", True, "")
    assert verify() == []


def test_a_failed_bench_test_bars_an_assigned_kit_with_its_reason():
    loan = assigned_loan()
    refuse_clearance(loan.kit, reason="Intermittent lead B (flex): replace lead B.")
    with pytest.raises(Refused, match="Intermittent lead B"):
        pack_all(loan.kit)


def test_retiring_a_kit_frees_its_parts():
    kit = complete_kit()
    retire(kit, reason="housing cracked")
    assert set(Part.objects.values_list("place", flat=True)) == {"spare"}
    assert verify() == []
