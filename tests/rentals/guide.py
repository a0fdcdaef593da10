"""A loan whose kit is with its student, and ways through the help by symptom."""

from rentals.actions.dispatch import dispatch
from rentals.actions.guide import answer_step, begin_help, report_fault
from rentals.models import FaultReport, GuideVisit, Loan
from rentals.planning.guide_steps import GuideAnswer
from rentals.selectors.guide import visit_page
from tests.factories import packed_loan

YES, NO, COULD_NOT = GuideAnswer


def lent() -> Loan:
    """A loan whose kit is with the student."""
    return dispatch(packed_loan().kit)


def all_answered(visit: GuideVisit, answer: GuideAnswer = NO) -> GuideVisit:
    """The visit once the same answer was given to every step."""
    while (step := visit_page(visit).step) is not None:
        visit = answer_step(visit, step.key, answer)
    return visit


def reported(symptom: str = "hum", note: str = "It began yesterday.") -> FaultReport:
    """A fault that no step has mended, reported."""
    return report_fault(all_answered(begin_help(lent(), symptom)), note)
