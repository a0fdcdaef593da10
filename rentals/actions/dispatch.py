"""Handing the parcel over, and taking that back where it was a slip."""

from __future__ import annotations

from datetime import date, datetime

from django.utils import timezone

from rentals import transaction
from rentals.dates import short_date
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import Kit, Loan, LoanStage, Message, Practice, ReturnCheck
from rentals.next_acts.occasions import REMINDERS
from rentals.selectors.contents import against_issuing
from rentals.selectors.losses import deposit_in_words

from .discard import discard_unsent
from .parcel_mail import write_of_parcel
from .record import Actor, lock_kit, lock_open_loan, record_kit, state_word
from .renew_mail import renew_loan
from .student_links import ensure_link


def tracking_as_kept(number: str) -> str:
    """A tracking number without the spaces it is printed with, so that every way of typing it finds
    the parcel.
    """
    return "".join(number.split())[:60]


@transaction.atomic
def dispatch(
    kit: Kit | str,
    *,
    tracking_number: str = "",
    carrier: str = "",
    parcel_mass_g: int | None = None,
    actor: Actor = None,
    at: datetime | None = None,
) -> Loan:
    """The parcel is handed over; the kit is away from now on.

    Raises
    ------
    Refused
        If the kit is not packed, is neither cleared nor overridden, or its deposit has not come and
        must come first.
    """
    kit = lock_kit(kit)
    loan = lock_open_loan(kit)
    at = at or timezone.now()
    if loan.stage == LoanStage.AWAY:
        return loan
    if loan.stage != LoanStage.PACKED:
        raise Refused(f"Kit {kit.code} is {state_word(kit)}: pack it before it is dispatched.")
    against = [] if kit.override_reason else against_issuing(kit)
    if against:
        raise Refused(f"Kit {kit.code} may not go out. {' '.join(against)}", field="gate")
    lacks = deposit_in_words(loan) if Practice.current().deposit_first else ""
    if lacks:
        raise Refused(f"{lacks} Note it on the loan's page first, or let it go out in Setup.")
    loan.stage, loan.dispatched_at = LoanStage.AWAY, at
    loan.tracking_number, loan.carrier = tracking_as_kept(tracking_number), carrier.strip()[:60]
    loan.parcel_mass_g = parcel_mass_g or loan.parcel_mass_g
    loan.save()
    by = f" with {loan.carrier}" if loan.carrier else ""
    number = f", tracking number {loan.tracking_number}" if loan.tracking_number else ""
    text = f"Dispatched to {loan.enrolment.student.name}{by}{number}."
    record_kit(kit, Verb.DISPATCHED, text, actor=actor, loan=loan, at=at)
    ensure_link(loan, at=at)
    write_of_parcel(Message.Occasion.ON_ITS_WAY, loan, actor=actor, at=at)
    return loan


@transaction.atomic
def recall(
    kit: Kit | str, *, reason: str = "", actor: Actor = None, at: datetime | None = None
) -> Loan:
    """Undo a dispatch that did not happen: the parcel still stands here, packed."""
    kit = lock_kit(kit)
    loan = lock_open_loan(kit)
    if loan.stage != LoanStage.AWAY:
        raise Refused(f"Kit {kit.code} is {state_word(kit)}: there is no dispatch to undo.")
    if ReturnCheck.objects.filter(loan=loan).exists():
        raise Refused(f"Part of kit {kit.code} has come back: its dispatch happened.")
    loan.stage, loan.dispatched_at, loan.tracking_number = LoanStage.PACKED, None, ""
    loan.save()
    because = f": {reason}" if reason else ""
    record_kit(
        kit, Verb.RECALLED, f"Not dispatched after all{because}.", actor=actor, loan=loan, at=at
    )
    discard_unsent(
        loan,
        [Message.Occasion.ON_ITS_WAY],
        reason="The parcel was not dispatched after all.",
        at=at,
    )
    return loan


@transaction.atomic
def extend(loan: Loan, due_on: date, *, actor: Actor = None, at: datetime | None = None) -> Loan:
    """Give a loan another return date."""
    kit = lock_kit(loan.kit_id)
    loan = Loan.objects.select_for_update(no_key=True).get(pk=loan.pk)
    if not loan.is_open:
        raise Refused("The loan has ended: its date cannot be changed.")
    if due_on < loan.post_by:
        raise Refused("The kit cannot be due back before it is posted.", field="due_on")
    before, loan.due_on = loan.due_on, due_on
    if due_on != before:
        loan.due_on_rule = ""
    loan.save(update_fields=["due_on", "due_on_rule"])
    day = short_date(due_on)
    text = f"Due back {day} (was {short_date(before)})."
    if loan.stage == LoanStage.PACKED and due_on != before:
        text += " The list in the box names the day before: print it again."
    record_kit(kit, Verb.NOTED, text, actor=actor, loan=loan, at=at)
    if due_on != before:
        reminders = [Message.Occasion.DUE_SOON, Message.Occasion.OVERDUE]
        discard_unsent(loan, reminders, reason=f"The kit is now due on {day}.", at=at)
        renew_loan(loan, at=at)
        _write_list_anew(loan, actor, at or timezone.now())
    return loan


def _write_list_anew(loan: Loan, actor: Actor, at: datetime) -> None:
    """Where the mail of a packed kit's list has gone already, it named the day before."""
    gone = loan.messages.filter(occasion=Message.Occasion.PACKING_LIST, state=Message.State.SENT)
    if loan.stage == LoanStage.PACKED and gone.exists():
        write_of_parcel(Message.Occasion.PACKING_LIST, loan, actor=actor, at=at)


@transaction.atomic
def note_sent_back(
    loan: Loan,
    on: date,
    *,
    tracking_number: str = "",
    through_page: bool = False,
    actor: Actor = None,
    at: datetime | None = None,
) -> Loan:
    """The student has posted the kit: no reminder is drafted any more, and those that wait are
    discarded. `through_page` where the student says so on the page of the loan.

    Raises
    ------
    Refused
        If the kit is not with the student.
    """
    kit = lock_kit(loan.kit_id)
    loan = Loan.objects.select_for_update(no_key=True).get(pk=loan.pk)
    if loan.stage != LoanStage.AWAY:
        raise Refused(f"Kit {kit.code} is {state_word(kit)}, not with the student.")
    loan.sent_back_on, loan.return_tracking_number = on, tracking_as_kept(tracking_number)
    loan.save(update_fields=["sent_back_on", "return_tracking_number"])
    number = (
        f", tracking number {loan.return_tracking_number}" if loan.return_tracking_number else ""
    )
    source = "The student, on their page: on" if through_page else "On"
    text = f"{source} its way back since {short_date(on)}{number}."
    record_kit(kit, Verb.NOTED, text, actor=actor, loan=loan, at=at)
    discard_unsent(loan, REMINDERS, reason="The kit is on its way back.", at=at)
    return loan


@transaction.atomic
def correct_tracking(
    loan: Loan, tracking_number: str, *, actor: Actor = None, at: datetime | None = None
) -> Loan:
    """Write down or mend the tracking number of a parcel under way."""
    kit = lock_kit(loan.kit_id)
    loan = Loan.objects.select_for_update(no_key=True).get(pk=loan.pk)
    loan.tracking_number = tracking_as_kept(tracking_number)
    loan.save(update_fields=["tracking_number"])
    record_kit(
        kit,
        Verb.NOTED,
        f"Tracking number {loan.tracking_number or 'removed'}.",
        actor=actor,
        loan=loan,
        at=at,
    )
    return loan
