"""Steps after a return: what a kit type asks for, and ticking them while a return is checked."""

from __future__ import annotations

from datetime import datetime

from django.db.models import Max
from django.utils import timezone

from rentals import transaction
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import KitType, LoanStep, ReturnStep
from rentals.planning.starter_steps import STARTER_STEPS

from .receive import lock_check
from .record import Actor, lock_kit, record_kit


@transaction.atomic
def save_step(step: ReturnStep) -> ReturnStep:
    """Keep a new or changed step; a new one goes to the end. Parcels that are packed keep those of
    their day.

    Raises
    ------
    Refused
        If it says nothing.
    """
    KitType.objects.select_for_update(no_key=True).get(pk=step.kit_type_id)
    step.words = " ".join(step.words.split())
    if not step.words:
        raise Refused("Say what is to be done.", field="words")
    if step.pk is None:
        steps = ReturnStep.objects.filter(kit_type=step.kit_type_id)
        last = steps.aggregate(last=Max("order"))["last"]
        step.order = 0 if last is None else last + 1
    step.save()
    return step


@transaction.atomic
def move_step(step: ReturnStep, *, up: bool) -> None:
    """Ask for a step one place earlier or later."""
    KitType.objects.select_for_update(no_key=True).get(pk=step.kit_type_id)
    steps = list(ReturnStep.objects.filter(kit_type=step.kit_type_id))
    place = steps.index(step)
    new_place = place - 1 if up else place + 1
    if not 0 <= new_place < len(steps):
        return
    steps[place], steps[new_place] = steps[new_place], steps[place]
    for order, row in enumerate(steps):
        row.order = order
    ReturnStep.objects.bulk_update(steps, ["order"])


@transaction.atomic
def remove_step(step: ReturnStep) -> None:
    """Ask for a step no more from the next packing on. Safe to repeat."""
    KitType.objects.select_for_update(no_key=True).get(pk=step.kit_type_id)
    ReturnStep.objects.filter(pk=step.pk).delete()


@transaction.atomic
def take_starter_steps(kit_type: KitType) -> list[ReturnStep]:
    """Add the ready steps that fit the kit type's contents.

    Raises
    ------
    Refused
        If it has steps already.
    """
    kit_type = KitType.objects.select_for_update(no_key=True).get(pk=kit_type.pk)
    if kit_type.return_steps.exists():
        raise Refused(f"{kit_type.name} has steps already: add to them, or change them.")
    kinds = {"", *kit_type.lines.values_list("part_kind", flat=True)}
    fitting = [step for step in STARTER_STEPS if step.part_kind in kinds]
    return ReturnStep.objects.bulk_create(
        ReturnStep(
            kit_type=kit_type,
            order=order,
            kind=step.kind,
            words=step.words,
            part_kind=step.part_kind,
        )
        for order, step in enumerate(fitting)
    )


@transaction.atomic
def tick_step(
    step: LoanStep, *, done: bool, actor: Actor = None, at: datetime | None = None
) -> LoanStep:
    """Write down that a step after a return is done, or is not after all. Safe to repeat.

    Raises
    ------
    Refused
        If the check is finished.
    """
    kit = lock_kit(step.loan.kit_id)
    lock_check(step.loan.return_check)
    step = LoanStep.objects.select_for_update().get(pk=step.pk)
    if done == (step.done_at is not None):
        return step
    step.done_at = (at or timezone.now()) if done else None
    step.save(update_fields=["done_at"])
    text = f"{'Done' if done else 'Not done after all'}: {step.words}"
    facts = {"return_step": step.pk, "done": done}
    record_kit(kit, Verb.NOTED, text, actor=actor, loan=step.loan, data=facts, at=at)
    return step
