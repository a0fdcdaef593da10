"""What the help by symptom has solved, and by which step."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from django.db.models import Count

from rentals.languages import USUAL_LANGUAGE
from rentals.models import GuideVisit
from rentals.planning.guide_trees import TREES
from rentals.selectors.guide_words import guide_words
from rentals.speaking import speaking
from rentals.states import GuideOutcome


@dataclass(frozen=True)
class SymptomCounts:
    """How often the help for one symptom was used, and how it ended; `solved_by` pairs the steps
    that solved it with how often, most often first.
    """

    title: str
    used: int
    solved: int
    reported: int
    under_way: int
    solved_by: list[tuple[str, int]]


def solved_table() -> list[SymptomCounts]:
    """Every symptom, in the order of the guide; three queries."""
    rows = GuideVisit.objects.order_by().values_list("symptom", "outcome", "solved_by")
    outcomes: Counter[tuple[str, str]] = Counter()
    steps: dict[str, Counter[str]] = {symptom: Counter() for symptom in TREES}
    for symptom, outcome, step, count in rows.annotate(count=Count("pk")):
        outcomes[symptom, outcome] += count
        if step and symptom in steps:
            steps[symptom][step] += count
    with speaking(USUAL_LANGUAGE):
        words = guide_words()
        return [
            SymptomCounts(
                title=words.symptom(symptom),
                used=sum(outcomes[symptom, outcome] for outcome in GuideOutcome),
                solved=outcomes[symptom, GuideOutcome.SOLVED],
                reported=outcomes[symptom, GuideOutcome.REPORTED],
                under_way=outcomes[symptom, GuideOutcome.OPEN],
                solved_by=[
                    (words.title(step) or step, count)
                    for step, count in steps[symptom].most_common()
                ],
            )
            for symptom in TREES
        ]
