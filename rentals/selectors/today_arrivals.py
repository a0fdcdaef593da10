"""Today's work with parcels in which something lacked on arrival."""

from __future__ import annotations

from rentals.models import ArrivalCheck
from rentals.next_acts import SEE_TO_ARRIVAL

from .arrival import arrivals_to_answer, lacks_in_words
from .next_steps import button
from .work_lines import SHOWN, WorkGroup, WorkLine


def arrivals_lacking() -> WorkGroup:
    """What students miss, or found damaged: they wait for it. One query where nobody does."""
    rows = arrivals_to_answer()
    first = list(rows[:SHOWN])
    total = rows.count() if len(first) == SHOWN else len(first)
    return WorkGroup("Missing or damaged on arrival", [_line(check) for check in first], total)


def _line(check: ArrivalCheck) -> WorkLine:
    loan = check.loan
    step = button(SEE_TO_ARRIVAL, loan=loan)
    student = loan.enrolment.student.name
    return WorkLine(student, lacks_in_words(check), step.url, step.act, code=loan.kit.code)
