"""What the owner changes in the help by symptom: steps left out, and steps of their own."""

from __future__ import annotations

from rentals import transaction
from rentals.errors import Refused
from rentals.models import LeftOutStep, OwnStep
from rentals.planning.guide_steps import GuideEnd
from rentals.planning.guide_trees import TREES


@transaction.atomic
def leave_out(symptom: str, step: str) -> None:
    """Leave a step out of the help for a symptom; students pass it unseen. Safe to repeat.

    Raises
    ------
    Refused
        If there is no such step, or it is there so that nobody uses what is not safe.
    """
    tree = TREES.get(symptom)
    if tree is None or step not in tree.steps:
        raise Refused("There is no such step in the help by symptom.")
    if tree.steps[step].yes == GuideEnd.STOP:
        raise Refused("This step finds what is not safe to use: it cannot be left out.")
    LeftOutStep.objects.get_or_create(symptom=symptom, step=step)


@transaction.atomic
def put_in_again(symptom: str, step: str) -> None:
    """Students see a step again that was left out. Safe to repeat."""
    LeftOutStep.objects.filter(symptom=symptom, step=step).delete()


@transaction.atomic
def save_own_step(step: OwnStep) -> OwnStep:
    """Keep a step of the owner's, new or changed.

    Raises
    ------
    Refused
        If its symptom is none of the guide's.
    """
    if step.symptom not in TREES:
        raise Refused("Choose the symptom that the step is for.", field="symptom")
    step.save()
    return step


@transaction.atomic
def remove_own_step(step: OwnStep) -> OwnStep:
    """Take a step of the owner's out. Reports that were sent keep its words."""
    step.delete()
    return step
