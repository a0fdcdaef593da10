"""What lets a kit go out, and what holds it back."""

from datetime import date, timedelta
from functools import partial

import pytest

from rentals.actions.assign import assign
from rentals.actions.dispatch import dispatch
from rentals.actions.issue import (
    clear,
    hold,
    note,
    override_gate,
    refuse_clearance,
    release,
    retire,
    unassign,
)
from rentals.actions.receive import (
    arrive,
)
from rentals.actions.register import remove_part
from rentals.errors import Refused
from rentals.models import Part
from rentals.verify import verify
from tests.factories import EnrolmentFactory, assigned_loan, complete_kit, packed_loan
from tests.rentals.actions.acts import events_after, pack_all

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


@pytest.mark.parametrize(
    ("act", "sentence"),
    [
        (lambda kit: hold(kit, reason="  "), "Say why the kit is held"),
        (lambda kit: retire(kit, reason=""), "Say why the kit is retired"),
        (lambda kit: note(kit, " "), "Write something to note"),
    ],
)
def test_an_act_without_its_words_is_refused(act, sentence):
    kit = complete_kit()
    assert events_after(lambda: act(kit), sentence) == 0


def test_a_kit_on_loan_is_neither_retired_nor_assigned_again():
    loan = assigned_loan()
    assert events_after(lambda: retire(loan.kit, reason="worn out"), "is on a loan") == 0
    assert events_after(lambda: assign(loan.kit, loan.enrolment), "cannot be assigned") == 0
    other = complete_kit(loan.kit.kit_type)
    assert events_after(lambda: assign(other, loan.enrolment), "already has kit") == 0


def test_a_packed_kit_is_unpacked_before_its_assignment_is_taken_back():
    loan = packed_loan()
    assert events_after(lambda: unassign(loan.kit), "unpack it first") == 0


def test_a_kit_is_not_due_back_before_it_is_posted():
    loan = assigned_loan()
    kit, enrolment = loan.kit, loan.enrolment
    unassign(kit)
    day = enrolment.run.post_by
    too_early = day - timedelta(days=1)
    wrong = "due back before it is posted"
    assert events_after(lambda: assign(kit, enrolment, due_on=too_early), wrong) == 0


def test_a_kit_goes_to_a_student_of_its_type_who_is_still_on_the_run():
    kit, stranger = complete_kit(), EnrolmentFactory()
    assert events_after(lambda: assign(kit, stranger), "needs another kit type") == 0
    gone = EnrolmentFactory(run__kit_type=kit.kit_type, withdrawn_on=date.today())
    assert events_after(lambda: assign(kit, gone), "withdrew from") == 0


def test_a_kit_is_cleared_once_and_only_when_it_is_whole():
    kit = complete_kit()
    before = kit.events.count()
    clear(kit, why="bench")
    assert kit.events.count() == before
    remove_part(kit, kit.parts.get(kind="charger"), to="spare")
    assert events_after(lambda: clear(kit, why="bench"), "Charger is missing: fit a spare") == 0


def test_the_bench_says_a_thing_once_and_of_a_kit_that_is_away_it_is_only_noted():
    kit = complete_kit(cleared=False)
    for _ in range(2):
        refuse_clearance(kit, reason=" Lead B is open. ")
    assert kit.events.filter(text="Not cleared: Lead B is open.").count() == 1
    away = dispatch(packed_loan().kit).kit
    refuse_clearance(away, reason="Lead A is open.")
    assert away.events.last().text == "Bench: Lead A is open."


def test_a_reason_to_override_is_a_sentence_and_a_note_is_kept(owner):
    loan = assigned_loan(complete_kit(cleared=False))
    act = partial(override_gate, loan.kit, reason=" why not ", actor=owner)
    assert events_after(act, "Write the reason in a sentence") == 0
    note(loan.kit, " smells of rosin ", actor=owner)
    event = loan.kit.events.last()
    assert (event.text, event.loan) == ("smells of rosin", loan)
