"""Students of the demo who had trouble: one mended it with the help by symptom, one reported it."""

from __future__ import annotations

from datetime import datetime

from rentals.actions.guide import answer_step, begin_help, report_fault
from rentals.models import FaultReport, GuideVisit, Loan
from rentals.planning.guide_steps import GuideAnswer

YES, NO, COULD_NOT = GuideAnswer.YES, GuideAnswer.NO, GuideAnswer.COULD_NOT

_JUMPS = {
    "tape_leads": NO,
    "move_a": NO,
    "move_b": YES,
    "swap_ends": YES,
    "look_leads": NO,
    "send_trace": COULD_NOT,
}


def hum_solved(loan: Loan, at: datetime) -> GuideVisit:
    """The laptop's power supply was it."""
    visit = begin_help(loan, "hum", at=at)
    return answer_step(visit, "laptop_battery", YES, at=at)


def jumps_reported(loan: Loan, at: datetime) -> FaultReport:
    """Lead B, as far as a student can tell."""
    visit = begin_help(loan, "jumps", at=at)
    for step, answer in _JUMPS.items():
        visit = answer_step(visit, step, answer, at=at)
    return report_fault(visit, "It began when the kit had lain in my bag for a day.", at=at)
