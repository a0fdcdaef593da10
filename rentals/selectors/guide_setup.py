"""The help by symptom as its owner sees it: every step, and what was changed."""

from __future__ import annotations

from dataclasses import dataclass

from rentals.languages import USUAL_LANGUAGE
from rentals.models import LeftOutStep, OwnStep
from rentals.planning.guide_steps import GuideEnd
from rentals.planning.guide_trees import TREES
from rentals.speaking import speaking

from .guide_words import guide_words


@dataclass(frozen=True)
class StepRow:
    """One step of the guide; `safety`: it cannot be left out."""

    key: str
    title: str
    to_try: str
    left_out: bool
    safety: bool


@dataclass(frozen=True)
class SymptomSetup:
    """The steps for one symptom, in the order of the tree, and the owner's own after them."""

    symptom: str
    title: str
    steps: list[StepRow]
    own: list[OwnStep]


def guide_setup() -> list[SymptomSetup]:
    """The whole guide; four queries."""
    left_out = set(LeftOutStep.objects.values_list("symptom", "step"))
    own = list(OwnStep.objects.all())
    with speaking(USUAL_LANGUAGE):
        words = guide_words()
        return [
            SymptomSetup(
                symptom,
                words.symptom(symptom),
                [
                    StepRow(
                        key,
                        words.title(key),
                        words.step(step).to_try,
                        left_out=(symptom, key) in left_out,
                        safety=step.yes == GuideEnd.STOP,
                    )
                    for key, step in tree.steps.items()
                ],
                [step for step in own if step.symptom == symptom],
            )
            for symptom, tree in TREES.items()
        ]
