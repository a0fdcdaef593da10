"""Loans that were out and have ended, made by the real acts on known days."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive, finish_check, note_line
from rentals.models import Enrolment, Loan
from tests.factories import complete_kit, packed_loan

POSTED = datetime(2026, 3, 2, 12, tzinfo=UTC)


def posted_loan(enrolment: Enrolment | None = None) -> Loan:
    """A loan whose parcel was posted on `POSTED`."""
    kit = complete_kit(enrolment.run.kit_type) if enrolment else None
    return dispatch(packed_loan(kit, enrolment).kit, at=POSTED)


def ended_loan(*short: str, enrolment: Enrolment | None = None, days: float = 80) -> Loan:
    """The same, back after so many days and checked: all is there but the kinds named."""
    loan = posted_loan(enrolment)
    back = POSTED + timedelta(days=days)
    check = arrive(loan.kit, at=back)
    for line in check.lines.select_related("packing_line").filter(packing_line__comes_back=True):
        missing = line.packing_line.part_kind in short
        note_line(line, "missing" if missing else "back", cleaned=True, charged=True)
    return finish_check(check, at=back + timedelta(hours=1))
