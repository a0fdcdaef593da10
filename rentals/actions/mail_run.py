"""Mailing a whole run with one word."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from rentals.errors import Refused
from rentals.models import CourseRun, Loan, Message
from rentals.next_acts.occasions import fits_occasion
from rentals.states import LoanStage

from .approve import BatchApproval, approve_many
from .draft import draft
from .once import in_form_transaction
from .record import Actor


@in_form_transaction
def mail_run(
    run: CourseRun,
    occasion: str,
    loans: Iterable[int],
    *,
    actor: Actor = None,
    at: datetime | None = None,
) -> BatchApproval:
    """Draft the mail of an occasion for these loans of a run and let all of them go as one batch; a
    draft that waits is taken as it stands.

    Raises
    ------
    Refused
        For no occasion, for no loan, and where one has moved on meanwhile.
    """
    if occasion not in Message.Occasion.values:
        raise Refused("Choose what the mail is about.", field="occasion")
    chosen = Loan.objects.select_for_update(of=("self",), no_key=True).filter(
        enrolment__run=run, pk__in=loans
    )
    chosen = chosen.select_related("enrolment__student").order_by("pk")
    if not chosen:
        raise Refused("Tick who gets the mail.", field="loans")
    for loan in chosen:
        _check_stage(loan, occasion)
    drafts = [draft(occasion, loan, actor=actor, at=at) for loan in chosen]
    return approve_many([message.pk for message in drafts], actor=actor, at=at)


def _check_stage(loan: Loan, occasion: str) -> None:
    if not fits_occasion(occasion, LoanStage(loan.stage)):
        name, stage = loan.enrolment.student.name, loan.get_stage_display()
        raise Refused(f"{name}: the kit is {stage} now. Look at the list again.", field="loans")
