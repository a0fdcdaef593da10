"""The steps that a return check asks for."""

from __future__ import annotations

from rentals.models import LoanStep, ReturnCheck
from rentals.states import ReturnOutcome


def steps_of(check: ReturnCheck) -> list[LoanStep]:
    """The steps that a check asks for, in their order: those of the kit as a whole, and those of
    part kinds that went out and are not missing.
    """
    lines = check.lines.exclude(outcome=ReturnOutcome.MISSING)
    kinds = {"", *lines.values_list("packing_line__part_kind", flat=True)}
    return [step for step in check.loan.return_steps.all() if step.part_kind in kinds]


def steps_to_do(check: ReturnCheck) -> list[str]:
    """A sentence for each step that is not ticked yet."""
    return [lack_of_step(step) for step in steps_of(check) if step.done_at is None]


def lack_of_step(step: LoanStep) -> str:
    """What is said of a step that is not ticked."""
    return f"{step.words.rstrip('.')}: to be done, then ticked."
