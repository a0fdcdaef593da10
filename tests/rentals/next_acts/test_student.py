"""What the student's page asks for first."""

from datetime import date

import pytest

from rentals.next_acts.student import StudentStep, may_post, student_step
from rentals.states import LoanStage

DUE = date(2027, 5, 20)
EARLY, LATE, OVER = date(2027, 5, 1), date(2027, 5, 14), date(2027, 5, 21)


@pytest.mark.parametrize(
    ("stage", "today", "posted", "check_open", "step"),
    [
        (LoanStage.ASSIGNED, EARLY, False, False, StudentStep.COMING),
        (LoanStage.PACKED, EARLY, False, False, StudentStep.COMING),
        (LoanStage.AWAY, EARLY, False, True, StudentStep.CHECK),
        (LoanStage.AWAY, EARLY, False, False, StudentStep.USE),
        (LoanStage.AWAY, LATE, False, False, StudentStep.SEND_BACK),
        (LoanStage.AWAY, OVER, False, True, StudentStep.OVERDUE),
        (LoanStage.AWAY, OVER, True, True, StudentStep.POSTED),
        (LoanStage.CHECK, EARLY, True, False, StudentStep.BACK),
        (LoanStage.SETTLED, OVER, False, False, StudentStep.BACK),
    ],
)
def test_the_step_follows_the_loan(stage, today, posted, check_open, step):
    assert student_step(stage, DUE, today, posted=posted, check_open=check_open) is step
    with_student = stage is LoanStage.AWAY and not posted
    assert may_post(step) is with_student
