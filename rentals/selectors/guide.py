"""Help by symptom for one loan: the trees as the owner wants them, and how far a student is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from rentals.languages import USUAL_LANGUAGE
from rentals.models import FaultReport, GuideVisit, LeftOutStep, Loan, OwnStep
from rentals.planning.guide_changes import changed_tree
from rentals.planning.guide_steps import GuideAnswer, GuideEnd, SymptomTree, Walk, walk
from rentals.planning.guide_trees import TREES
from rentals.speaking import speaking
from rentals.states import GuideOutcome, LoanStage

from .guide_words import GuideWords, StepWords, answer_words, guide_words

VISITS_SHOWN = 20


@dataclass(frozen=True)
class SymptomRow:
    """One symptom to choose, and the student's open way through its help, if there is one."""

    symptom: str
    title: str
    hint: str
    open_visit: GuideVisit | None


@dataclass(frozen=True)
class TriedRow:
    """A step that was answered, as it is listed; `question` where it asked what shows."""

    step: str
    title: str
    question: str
    answer: str
    rules_out: str


@dataclass(frozen=True)
class VisitPage:
    """Where a student stands. `step` is the one to do, None at an end; `given` is the answer that
    was given to it before. `stop` says that the kit is not to be used again.
    """

    visit: GuideVisit
    symptom: str
    step: StepWords | None
    given: str
    sends_trace: bool
    tried: list[TriedRow]
    solved: bool
    to_report: bool
    stop: bool
    report: FaultReport | None


def helps(loan: Loan) -> bool:
    """Whether the student has the kit, so that there is something to help with."""
    return loan.stage == LoanStage.AWAY


def tree_of(symptom: str) -> SymptomTree:
    """The tree for a symptom with the owner's changes. Raises KeyError for none that there is."""
    left_out = LeftOutStep.objects.filter(symptom=symptom).values_list("step", flat=True)
    own = [step.key for step in OwnStep.objects.filter(symptom=symptom)]
    return changed_tree(TREES[symptom], set(left_out), own)


def answers_of(visit: GuideVisit) -> dict[str, GuideAnswer]:
    """What was answered, by the key of the step."""
    return {tried.step: GuideAnswer(tried.answer) for tried in visit.tried.all()}


def visits() -> QuerySet[GuideVisit]:
    """All visits with what their pages need."""
    return GuideVisit.objects.select_related("loan__kit", "report")


def symptom_rows(loan: Loan) -> list[SymptomRow]:
    """Every symptom there is help for."""
    words = guide_words()
    open_visits = {
        visit.symptom: visit for visit in loan.guide_visits.filter(outcome=GuideOutcome.OPEN)
    }
    return [
        SymptomRow(name, words.symptom(name), words.hint(name), open_visits.get(name))
        for name in TREES
    ]


def past_visits(loan: Loan) -> list[tuple[GuideVisit, str, FaultReport | None]]:
    """The ended ways of a loan, the newest first, with their symptom in words and the report."""
    words = guide_words()
    ended = loan.guide_visits.exclude(outcome=GuideOutcome.OPEN).select_related("report")
    return [
        (visit, words.symptom(visit.symptom), getattr(visit, "report", None))
        for visit in ended[:VISITS_SHOWN]
    ]


def visit_page(visit: GuideVisit, wanted: str = "") -> VisitPage:
    """The page of a visit; `wanted` is an answered step to go back to."""
    words, tree, answers = guide_words(), tree_of(visit.symptom), answers_of(visit)
    done = walk(tree, answers)
    back_to = next((step for step, _ in done.answered if step.key == wanted), None)
    ended = visit.outcome != GuideOutcome.OPEN
    step = None if ended else back_to or done.step
    return VisitPage(
        visit=visit,
        symptom=words.symptom(visit.symptom),
        step=words.step(step) if step else None,
        given=answers.get(step.key, "") if step else "",
        sends_trace=bool(step and step.sends_trace),
        tried=_tried(done, words),
        solved=visit.outcome == GuideOutcome.SOLVED,
        to_report=not ended and step is None,
        stop=done.at is GuideEnd.STOP,
        report=getattr(visit, "report", None),
    )


def _tried(done: Walk, words: GuideWords) -> list[TriedRow]:
    return [
        TriedRow(
            step.key,
            words.title(step.key),
            words.sign(step),
            dict(answer_words(step.asks))[answer],
            words.rules_out(step.key) if answer is GuideAnswer.NO else "",
        )
        for step, answer in done.answered
    ]


def tried_in_desk_words(visit: GuideVisit) -> list[dict[str, Any]]:
    """Everything that was tried, to be kept with a report: in the desk's language, in the order of
    the way, then what was answered and is off it now.
    """
    with speaking(USUAL_LANGUAGE):
        words = guide_words()
        answers = answers_of(visit)
        rows = [vars(row) for row in _tried(walk(tree_of(visit.symptom), answers), words)]
        on_the_way = {row["step"] for row in rows}
        return rows + _off_the_way(answers, on_the_way, words)


def _off_the_way(
    answers: Mapping[str, GuideAnswer], on_the_way: set[str], words: GuideWords
) -> list[dict[str, Any]]:
    return [
        {"step": step, "title": words.title(step) or step, "answer": ""}
        for step in answers
        if step not in on_the_way
    ]


def symptom_in_desk_words(symptom: str) -> str:
    """A symptom in the desk's language."""
    with speaking(USUAL_LANGUAGE):
        return guide_words().symptom(symptom)
