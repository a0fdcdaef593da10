"""The day on which a parcel came back: not always the day on which it is opened."""

from __future__ import annotations

from datetime import date, datetime, time

from django.utils import timezone

from rentals import transaction
from rentals.dates import short_date
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import Loan, LoanStage

from .record import Actor, lock_kit, record_kit


def arrival_moment(loan: Loan, on: date | None, now: datetime) -> datetime:
    """The moment that stands for an arrival on a day: now for today, noon for a day before, and
    never before the dispatch, though the clock was set back since.

    Raises
    ------
    Refused
        If the day is yet to come, or before the day of dispatch.
    """
    today = timezone.localtime(now).date()
    sent_at = loan.dispatched_at
    if on is None or on == today:
        return max(now, sent_at) if sent_at else now
    if on > today:
        raise Refused(
            f"{short_date(on)} is yet to come. Give the day on which the parcel arrived.",
            field="on",
        )
    sent_on = timezone.localtime(sent_at).date()
    if on < sent_on <= today:
        raise Refused(
            f"Kit {loan.kit.code} was dispatched on {short_date(sent_on)}: it cannot have come"
            " back before.",
            field="on",
        )
    noon = timezone.make_aware(datetime.combine(on, time(12)))
    return max(noon, sent_at) if sent_at else noon


@transaction.atomic
def correct_arrival(
    loan: Loan, on: date, *, actor: Actor = None, at: datetime | None = None
) -> Loan:
    """Write down another day of arrival; the check and its lines stay as they are.

    Raises
    ------
    Refused
        If the kit has not come back, cannot have come on that day, or the loan is over.
    """
    kit = lock_kit(loan.kit_id)
    loan = Loan.objects.select_for_update(no_key=True).get(pk=loan.pk)
    if loan.arrived_at is None:
        raise Refused(f"Kit {kit.code} has not come back yet.")
    if not loan.is_open and loan.stage != LoanStage.RETURNED:
        raise Refused(f"The loan of kit {kit.code} is over; its days stand as its statement says.")
    loan.kit = kit
    before = timezone.localtime(loan.arrived_at).date()
    if on == before:
        return loan
    loan.arrived_at = arrival_moment(loan, on, at or timezone.now())
    loan.save(update_fields=["arrived_at"])
    text = f"It came back on {short_date(on)} (was {short_date(before)})."
    record_kit(kit, Verb.NOTED, text, actor=actor, loan=loan, at=at)
    return loan
