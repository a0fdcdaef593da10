"""A student goes through the help by symptom: begun, each step answered, ended solved or reported.

Everything is kept as it is answered, so going back or coming again another day loses nothing.
"""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone
from django.utils.translation import gettext as _

from rentals import transaction
from rentals.counts import counted
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import FaultReport, GuideVisit, Kit, Loan, TriedStep
from rentals.planning.guide_steps import GuideAnswer, GuideEnd, walk
from rentals.planning.guide_trees import TREES
from rentals.selectors.guide import (
    answers_of,
    helps,
    symptom_in_desk_words,
    tree_of,
    tried_in_desk_words,
)
from rentals.states import GuideOutcome

from .record import lock_kit, record_kit

LONGEST_NOTE = 2000


@transaction.atomic
def begin_help(loan: Loan, symptom: str, *, at: datetime | None = None) -> GuideVisit:
    """The student's open way through the help for a symptom, begun where there is none.

    Raises
    ------
    Refused
        If there is no help for that, or the student does not have the kit.
    """
    lock_kit(loan.kit_id)
    loan = Loan.objects.get(pk=loan.pk)
    if symptom not in TREES:
        raise Refused(_("Choose one of the signs of trouble in the list."), field="symptom")
    if not helps(loan):
        raise Refused(_("The kit is not with you at the moment, so there is nothing to try."))
    visit, _new = GuideVisit.objects.get_or_create(
        loan=loan,
        symptom=symptom,
        outcome=GuideOutcome.OPEN,
        defaults={"started_at": at or timezone.now()},
    )
    return visit


@transaction.atomic
def answer_step(
    visit: GuideVisit, step: str, answer: str, *, at: datetime | None = None
) -> GuideVisit:
    """Keep what a student answered to a step; an answer that solves it ends the visit.

    Raises
    ------
    Refused
        If the visit has ended, the step is none of it, or the answer is none.
    """
    kit, visit = _lock(visit)
    tree = tree_of(visit.symptom)
    if step not in tree.steps or answer not in list(GuideAnswer):
        raise Refused(_("Choose one of the answers."), field="answer")
    at = at or timezone.now()
    TriedStep.objects.update_or_create(
        visit=visit, step=step, defaults={"answer": answer, "at": at}
    )
    if walk(tree, answers_of(visit)).at is GuideEnd.SOLVED:
        _end(visit, GuideOutcome.SOLVED, at, solved_by=step)
        symptom = symptom_in_desk_words(visit.symptom)
        text = f"Help by symptom solved it for the student: {symptom}."
        record_kit(kit, Verb.NOTED, text, loan=visit.loan, at=at)
    return visit


@transaction.atomic
def take_up_again(visit: GuideVisit, *, at: datetime | None = None) -> GuideVisit:
    """It was not solved after all: the step that seemed to help did not. An open visit for the same
    symptom is given where one was begun meanwhile.
    """
    lock_kit(visit.loan.kit_id)
    visit = GuideVisit.objects.select_for_update().get(pk=visit.pk)
    if visit.outcome != GuideOutcome.SOLVED:
        return visit
    if not helps(visit.loan):
        raise Refused(_("The kit is not with you at the moment, so there is nothing to try."))
    begun = GuideVisit.objects.filter(
        loan=visit.loan_id, symptom=visit.symptom, outcome=GuideOutcome.OPEN
    ).first()
    if begun is not None:
        return begun
    at = at or timezone.now()
    visit.tried.filter(step=visit.solved_by).update(answer=GuideAnswer.NO, at=at)
    visit.outcome, visit.ended_at, visit.solved_by = GuideOutcome.OPEN, None, ""
    visit.save(update_fields=["outcome", "ended_at", "solved_by"])
    return visit


@transaction.atomic
def report_fault(visit: GuideVisit, note: str = "", *, at: datetime | None = None) -> FaultReport:
    """Tell the instructor of what the help did not mend, with everything that was tried. Safe to
    repeat. A student may report before all steps are done.
    """
    kit = lock_kit(visit.loan.kit_id)
    visit = GuideVisit.objects.select_for_update().select_related("loan").get(pk=visit.pk)
    if (sent := FaultReport.objects.filter(visit=visit).first()) is not None:
        return sent
    _refuse_if_ended(visit)
    at = at or timezone.now()
    done = walk(tree_of(visit.symptom), answers_of(visit))
    report = FaultReport.objects.create(
        visit=visit,
        loan=visit.loan,
        at=at,
        symptom=symptom_in_desk_words(visit.symptom),
        tried=tried_in_desk_words(visit),
        out_of_use=done.at is GuideEnd.STOP,
        note=note.strip()[:LONGEST_NOTE],
    )
    _end(visit, GuideOutcome.REPORTED, at)
    facts = {"fault_report": report.pk, "fault_state": report.state}
    record_kit(kit, Verb.NOTED, _reported(report), loan=visit.loan, data=facts, at=at)
    return report


def _reported(report: FaultReport) -> str:
    steps = counted(len(report.tried), "step", "steps")
    out_of_use = " The kit is not to be used again." if report.out_of_use else ""
    return f"The student reports a fault: {report.symptom}; {steps} tried.{out_of_use}"


def _lock(visit: GuideVisit) -> tuple[Kit, GuideVisit]:
    """The kit and an open visit, locked in this order."""
    kit = lock_kit(visit.loan.kit_id)
    visits = GuideVisit.objects.select_for_update(of=("self",)).select_related("loan")
    visit = visits.get(pk=visit.pk)
    _refuse_if_ended(visit)
    return kit, visit


def _refuse_if_ended(visit: GuideVisit) -> None:
    if visit.outcome != GuideOutcome.OPEN:
        raise Refused(_("This help has ended. Begin it again if the trouble has come back."))


def _end(visit: GuideVisit, outcome: GuideOutcome, at: datetime, solved_by: str = "") -> None:
    visit.outcome, visit.ended_at, visit.solved_by = outcome, at, solved_by
    visit.save(update_fields=["outcome", "ended_at", "solved_by"])
