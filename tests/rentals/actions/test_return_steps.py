"""Steps after a return belong to the kit type, are frozen with the parcel, and bar the bench."""

import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.pack import pack, unpack
from rentals.actions.receive import arrive, finish_check, note_line
from rentals.actions.return_steps import (
    move_step,
    remove_step,
    save_step,
    take_starter_steps,
    tick_step,
)
from rentals.errors import Refused
from rentals.models import Kit, LoanStep, ReturnStep
from rentals.selectors.return_steps import steps_of
from rentals.verify import verify
from tests.factories import KitTypeFactory, UserFactory, complete_kit, packed_loan
from tests.rentals.actions.acts import all_back

pytestmark = pytest.mark.django_db


def test_a_kit_does_not_go_to_the_bench_before_its_steps_of_the_day_are_ticked():
    kit = complete_kit()
    asked = [step.words for step in take_starter_steps(kit.kit_type)]
    loan = dispatch(packed_loan(kit).kit)
    save_step(ReturnStep(kit_type=kit.kit_type, words="Ring the bell."))
    remove_step(kit.kit_type.return_steps.first())
    check = arrive(kit)
    all_back(check)
    assert [step.words for step in steps_of(check)] == asked
    with pytest.raises(Refused, match="Wipe the leads .* uncoiled: to be done, then ticked"):
        finish_check(check)
    ticker = UserFactory()
    steps = steps_of(check)
    for step in steps:
        tick_step(step, done=True, actor=ticker)
    tick_step(steps[0], done=False)
    with pytest.raises(Refused, match="^Throw away used electrodes"):
        finish_check(check)
    for _ in range(2):
        tick_step(steps[0], done=True)
    done = loan.events.filter(text__startswith="Done: ")
    assert done.count() == len(steps) + 1 and done.first().actor == ticker
    assert verify() == []
    LoanStep.objects.filter(pk=steps[1].pk).update(done_at=None)
    assert [words for words in verify() if "is not as its events say" in words]
    LoanStep.objects.filter(pk=steps[1].pk).update(done_at=check.started_at, words="Nothing.")
    assert [words for words in verify() if "was changed after it was frozen" in words]
    finish_check(check)
    assert Kit.objects.get(pk=kit.pk).state == "bench"
    with pytest.raises(Refused, match="is finished"):
        tick_step(steps[0], done=False)


def test_a_step_of_a_part_that_is_missing_is_not_asked_for_and_unpacking_forgets_all():
    kit = complete_kit()
    save_step(ReturnStep(kit_type=kit.kit_type, words="Wipe it.", part_kind="lead_set"))
    loan = packed_loan(kit)
    unpack(kit)
    assert not loan.return_steps.exists()
    loan.packing_lines.update(ticked_at=loan.assigned_at)
    check = arrive(dispatch(pack(loan.kit).kit).kit)
    assert len(steps_of(check)) == 1
    note_line(check.lines.get(packing_line__part_kind="lead_set"), "missing")
    assert steps_of(check) == []


def test_steps_stand_in_the_owners_order_and_words():
    kit_type = KitTypeFactory()
    ready = take_starter_steps(kit_type)
    assert {step.part_kind for step in ready} == {
        "",
        "electrodes",
        "lead_set",
        "amplifier",
        "battery_pack",
    }
    with pytest.raises(Refused, match="has steps already"):
        take_starter_steps(kit_type)
    with pytest.raises(Refused, match="Say what is to be done"):
        save_step(ReturnStep(kit_type=kit_type, words="  "))
    last = save_step(ReturnStep(kit_type=kit_type, words=" Air  the box. "))
    assert (last.order, last.words) == (len(ready), "Air the box.")
    move_step(last, up=True)
    move_step(last, up=False)
    move_step(last, up=False)
    assert list(kit_type.return_steps.all())[-1] == last
    move_step(last, up=True)
    assert list(kit_type.return_steps.all())[-2] == last
