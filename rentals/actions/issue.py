"""From the shelf to the post: assign, clear, override, hold, release, retire."""

from __future__ import annotations

from datetime import date, datetime

from django.db import IntegrityError
from django.utils import timezone

from rentals import transaction
from rentals.errors import Refused
from rentals.lifecycle import Verb, may
from rentals.models import OPEN_STAGES, Earmark, Enrolment, Kit, Loan, LoanStage
from rentals.next_acts import may_unassign
from rentals.planning.calendar import PlannedDay
from rentals.selectors.open_loan import open_loan
from rentals.selectors.plan_days import LoanDays, loan_days
from rentals.states import KitState

from .bench_word import clear_locked, refuse_locked
from .deposit import ask_deposit
from .faulty_kit import lock_with_faulty, take_back_swap
from .ledger import ledger_data, release_deposit
from .packing_list import bring_up_to_date
from .record import Actor, lock_kit, lock_open_loan, record_kit, state_word
from .register import remove_part


@transaction.atomic
def assign(
    kit: Kit,
    enrolment: Enrolment,
    *,
    post_by: date | None = None,
    due_on: date | None = None,
    replaces: Loan | None = None,
    actor: Actor = None,
    at: datetime | None = None,
) -> Loan:
    """Lend a kit to an enrolled student; dates come from the run and the student's country unless
    given. A loan that `replaces` one whose kit is faulty asks the deposit of that.

    Raises
    ------
    Refused
        If the kit is not in the house and free, the student withdrew or has a kit, or the kit is of
        another type.
    """
    kit = lock_kit(kit)
    enrolment = (
        Enrolment.objects.select_for_update(of=("self",))
        .select_related("student", "run")
        .get(pk=enrolment.pk)
    )
    run, student = enrolment.run, enrolment.student
    if not may(Verb.ASSIGNED, KitState(kit.state)):
        raise Refused(
            f"Kit {kit.code} is {state_word(kit)} and cannot be assigned. Choose another kit.",
            field="kit",
        )
    if enrolment.withdrawn_on:
        raise Refused(f"{student.name} withdrew from {run.name}.", field="enrolment")
    if kit.kit_type_id != run.kit_type_id:
        raise Refused(
            f"Kit {kit.code} is a {kit.kit_type.name}; {run.name} needs another kit type.",
            field="kit",
        )
    _check_has_no_kit(enrolment)
    days = _days_of_loan(enrolment, post_by, due_on)
    loan = Loan(
        kit=kit,
        enrolment=enrolment,
        post_by=days.post.day,
        post_by_rule=days.post.rule,
        due_on=days.due.day,
        due_on_rule=days.due.rule,
        assigned_at=at or timezone.now(),
        deposit=replaces.deposit if replaces else run.deposit,
        replaces=replaces,
    )
    try:
        with transaction.atomic():
            loan.save()
    except IntegrityError as taken_now:
        raise Refused(
            "Kit or student was taken a moment ago by somebody else. Look again."
        ) from taken_now
    bring_up_to_date(loan)
    asked = ask_deposit(loan, actor=actor, at=at)
    # Whatever was set aside for the student has served its purpose.
    Earmark.objects.filter(enrolment=enrolment).delete()
    record_kit(
        kit,
        Verb.ASSIGNED,
        f"Assigned to {student.name} for {run.name}.",
        actor=actor,
        loan=loan,
        data=ledger_data(*asked),
        at=at,
    )
    return loan


def _check_has_no_kit(enrolment: Enrolment) -> None:
    """Refuse a second kit; a faulty one that is expected back does not count."""
    loans = Loan.objects.filter(enrolment=enrolment, stage__in=OPEN_STAGES, fault="")
    loan = loans.select_related("kit").first()
    if loan is not None:
        name = enrolment.student.name
        raise Refused(f"{name} already has kit {loan.kit.code} on this run.", field="enrolment")


def _days_of_loan(enrolment: Enrolment, post_by: date | None, due_on: date | None) -> LoanDays:
    """The days that were given, else those of the run and the student's country."""
    days = loan_days(enrolment.run, str(enrolment.student.country or ""))
    days = LoanDays(
        PlannedDay(post_by, "") if post_by else days.post,
        PlannedDay(due_on, "") if due_on else days.due,
    )
    if days.due.day < days.post.day:
        raise Refused(
            "The kit is due back before it is posted: check the two dates.", field="due_on"
        )
    return days


@transaction.atomic
def unassign(
    kit: Kit, *, reason: str = "", actor: Actor = None, at: datetime | None = None
) -> Loan:
    """Take an assignment back before the kit is packed."""
    kit = lock_with_faulty(kit)
    loan = lock_open_loan(kit)
    if not may_unassign(LoanStage(loan.stage)):
        raise Refused(f"Kit {kit.code} is {state_word(kit)}: unpack it first.")
    loan.stage, loan.closed_at = LoanStage.CANCELLED, at or timezone.now()
    loan.save(update_fields=["stage", "closed_at"])
    loan.packing_lines.all().delete()
    released = release_deposit(loan, actor=actor, at=at)
    because = f": {reason}" if reason else ""
    name = loan.enrolment.student.name
    record_kit(
        kit,
        Verb.UNASSIGNED,
        f"No longer assigned to {name}{because}.",
        actor=actor,
        loan=loan,
        data=ledger_data(released),
        at=at,
    )
    if loan.replaces_id:
        take_back_swap(loan, actor=actor, at=at)
    return loan


@transaction.atomic
def clear(kit: Kit, *, why: str, actor: Actor = None, at: datetime | None = None) -> Kit:
    """Clear a kit for issue. `why` says on what ground (the bench tests passed).

    Raises
    ------
    Refused
        If a part is missing or damaged, or the kit is packed, away, held or not yet checked.
    """
    kit = lock_kit(kit)
    clear_locked(kit, why=why, actor=actor, at=at)
    return kit


@transaction.atomic
def refuse_clearance(
    kit: Kit, *, reason: str, actor: Actor = None, at: datetime | None = None
) -> Kit:
    """Say that the bench found the kit wanting; it keeps the reason, and loses its clearance where
    it had one.
    """
    kit = lock_kit(kit)
    refuse_locked(kit, reason=reason, actor=actor, at=at)
    return kit


@transaction.atomic
def override_gate(kit: Kit | str, *, reason: str, actor: Actor, at: datetime | None = None) -> Loan:
    """Let an assigned kit go out although it is not cleared; the owner's written reason stays
    visible.
    """
    kit = lock_kit(kit)
    loan = lock_open_loan(kit)
    if actor is None or not getattr(actor, "is_superuser", False):
        raise Refused("Only the owner can issue a kit that is not cleared.", field="reason")
    reason = reason.strip()
    if len(reason) < 10:
        raise Refused(
            "Write the reason in a sentence; it stays on the kit, the loan and the packing list.",
            field="reason",
        )
    if kit.override_reason:
        if kit.override_reason == reason[:500]:
            return loan
        raise Refused(
            f"Kit {kit.code} goes out on an override already: {kit.override_reason}",
            field="reason",
        )
    kit.override_reason = reason[:500]
    record_kit(
        kit, Verb.OVERRIDDEN, f"Issued on an override: {reason}", actor=actor, loan=loan, at=at
    )
    loan.override_reason, loan.overridden_by = kit.override_reason, actor
    loan.save(update_fields=["override_reason", "overridden_by"])
    return loan


@transaction.atomic
def hold(kit: Kit, *, reason: str, actor: Actor = None, at: datetime | None = None) -> Kit:
    """Take a kit out of the loop until released."""
    kit = lock_kit(kit)
    if not reason.strip():
        raise Refused("Say why the kit is held.", field="reason")
    kit.hold_reason = reason.strip()[:300]
    record_kit(kit, Verb.HELD, f"Held: {kit.hold_reason}", actor=actor, loan=open_loan(kit), at=at)
    return kit


@transaction.atomic
def release(kit: Kit, *, actor: Actor = None, at: datetime | None = None) -> Kit:
    """End a hold; the kit is where it was before."""
    kit = lock_kit(kit)
    record_kit(kit, Verb.RELEASED, "Released from hold.", actor=actor, loan=open_loan(kit), at=at)
    return kit


@transaction.atomic
def retire(kit: Kit, *, reason: str, actor: Actor = None, at: datetime | None = None) -> Kit:
    """Take a kit out of use for good; its parts become spares."""
    kit = lock_kit(kit)
    if not reason.strip():
        raise Refused("Say why the kit is retired.", field="reason")
    if open_loan(kit) is not None:
        raise Refused(f"Kit {kit.code} is on a loan: end that first.")
    for part in list(kit.parts.all()):
        to = part.Place.REPAIR if part.damaged else part.Place.SPARE
        remove_part(kit, part, to=to, reason="kit retired", actor=actor, at=at)
    kit = lock_kit(kit)
    record_kit(kit, Verb.RETIRED, f"Retired: {reason.strip()}", actor=actor, at=at)
    return kit


@transaction.atomic
def note(kit: Kit, text: str, *, actor: Actor = None, at: datetime | None = None) -> Kit:
    """Write a line into the kit's history."""
    kit = lock_kit(kit)
    if not text.strip():
        raise Refused("Write something to note.", field="note")
    record_kit(kit, Verb.NOTED, text.strip()[:500], actor=actor, loan=open_loan(kit), at=at)
    return kit
