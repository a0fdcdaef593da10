"""Acts on kits and parts that are refused say why, and change nothing."""

from __future__ import annotations

from datetime import timedelta

import pytest

from rentals.actions.issue import assign, hold, note, retire, unassign
from rentals.actions.register import fit_part, remove_part
from rentals.errors import Refused
from rentals.models import Event, Part
from tests.factories import assigned_loan, complete_kit, packed_loan

pytestmark = pytest.mark.django_db


def events_after(act, sentence: str) -> int:
    """How many events a refused act wrote."""
    before = Event.objects.count()
    with pytest.raises(Refused, match=sentence):
        act()
    return Event.objects.count() - before


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


def test_a_part_is_taken_out_of_its_own_kit_only_and_to_a_place_that_exists():
    kit, other = complete_kit(), complete_kit()
    part = kit.parts.first()
    spare = Part.Place.SPARE
    assert events_after(lambda: remove_part(other, part, to=spare), "is not in kit") == 0
    assert events_after(lambda: remove_part(kit, part, to="kit"), "Say where the part goes") == 0


def test_a_part_that_sits_in_a_kit_is_fitted_nowhere_else():
    kit, other = complete_kit(), complete_kit()
    part = kit.parts.first()
    assert events_after(lambda: fit_part(kit, part), "is in this kit already") == 0
    assert events_after(lambda: fit_part(other, part), "take it out there first") == 0


def test_a_part_in_repair_is_no_sound_spare():
    kit = complete_kit()
    part = kit.parts.first()
    remove_part(kit, part, to=Part.Place.REPAIR)
    part.refresh_from_db()
    assert events_after(lambda: fit_part(kit, part), "not a sound spare") == 0
