"""What is next for a student: the one thing that the first page of the kit asks for."""

from __future__ import annotations

from datetime import date, timedelta
from enum import StrEnum

from rentals.states import LoanStage

#: So many days before the kit is due the page speaks of sending it back.
SEND_BACK_AHEAD_DAYS = 7


class StudentStep(StrEnum):
    """How far a loan has come, seen from the student."""

    COMING = "coming"
    CHECK = "check"
    USE = "use"
    SEND_BACK = "send back"
    OVERDUE = "overdue"
    POSTED = "posted"
    BACK = "back"


def student_step(
    stage: LoanStage, due_on: date, today: date, *, posted: bool, check_open: bool
) -> StudentStep:
    """What is next: `posted` once the kit is on its way back, `check_open` while an arrival check
    is taken and none was sent.
    """
    if stage in (LoanStage.ASSIGNED, LoanStage.PACKED):
        return StudentStep.COMING
    if stage is not LoanStage.AWAY:
        return StudentStep.BACK
    if posted:
        return StudentStep.POSTED
    if today > due_on:
        return StudentStep.OVERDUE
    if check_open:
        return StudentStep.CHECK
    ahead = due_on - timedelta(days=SEND_BACK_AHEAD_DAYS)
    return StudentStep.SEND_BACK if today >= ahead else StudentStep.USE


def may_post(step: StudentStep) -> bool:
    """Whether the student has the kit and can say that it is posted."""
    return step in (
        StudentStep.CHECK,
        StudentStep.USE,
        StudentStep.SEND_BACK,
        StudentStep.OVERDUE,
    )
