"""What the packing bench says of a kit that is not there."""

import pytest

from rentals.actions.issue import hold
from rentals.selectors.elsewhere import kit_elsewhere
from tests.factories import EnrolmentFactory, assigned_loan, complete_kit

pytestmark = pytest.mark.django_db


def test_a_kit_on_the_shelf_leads_to_the_run_that_wants_it():
    kit = complete_kit()
    assert kit_elsewhere(kit, None).runs == []
    run = EnrolmentFactory(run__kit_type=kit.kit_type).run
    told = kit_elsewhere(kit, None)
    assert told.waits and told.refusal == ""
    assert "on the shelf, cleared" in told.sentence
    assert [wanting for wanting, _ in told.runs] == [run]
    assert told.next.url == told.runs[0][1].url


def test_a_held_kit_names_its_reason_and_its_loan():
    loan = assigned_loan()
    kit = loan.kit
    hold(kit, reason="wet charger")
    kit.refresh_from_db()
    told = kit_elsewhere(kit, loan)
    assert told.sentence == f"Kit {kit.code} is held: wet charger"
    assert (told.held_for, told.waits, told.runs) == (loan, False, [])
