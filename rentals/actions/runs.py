"""Course runs and who is on them: create, change, enrol, withdraw, assign many kits in one go."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from django.db import IntegrityError
from django.db.models import Q
from django.utils import timezone

from rentals import transaction
from rentals.errors import Refused
from rentals.models import (
    OPEN_STAGES,
    STUDENT_FIELDS,
    CourseRun,
    Enrolment,
    Kit,
    Loan,
    LoanStage,
    Student,
)
from rentals.selectors.plan_days import day_rules, loan_days
from rentals.selectors.search import but_for_case

from .assign import Assignment, assign_many
from .earmark import let_go
from .issue import unassign
from .lock_order import lock_in_order, lock_kits
from .record import Actor


@transaction.atomic
def save_run(run: CourseRun) -> CourseRun:
    """Create or change a run; assigned kits that were to follow the run's dates follow the new
    ones.

    Raises
    ------
    Refused
        If the dates are out of order, the name is taken, or the kit type changes while kits are
        assigned.
    """
    if run.ends_on < run.starts_on:
        raise Refused("The run ends before it starts.", field="ends_on")
    if run.return_by < run.post_by:
        raise Refused("Kits would be due back before they are posted.", field="return_by")
    before = (
        CourseRun.objects.select_for_update(no_key=True).filter(pk=run.pk).first()
        if run.pk
        else None
    )
    loans = (
        Loan.objects.filter(enrolment__run=run, stage__in=OPEN_STAGES)
        if before
        else Loan.objects.none()
    )
    if before and before.kit_type_id != run.kit_type_id and loans.exists():
        raise Refused(
            "Kits of another type are assigned to this run: take those back first.",
            field="kit_type",
        )
    if CourseRun.objects.filter(name__iexact=run.name).exclude(pk=run.pk).exists():
        raise Refused(f"There is a run called {run.name} already.", field="name")
    run.save()
    if before and _days_of(before) != _days_of(run):
        _move_loans(before, run)
    return run


def _days_of(run: CourseRun) -> tuple[date | str, ...]:
    return run.post_by, run.post_by_rule, run.return_by, run.return_by_rule


def _move_loans(before: CourseRun, run: CourseRun) -> None:
    """Give the new days to what is still in the house and follows the run: a date agreed with one
    student stays.
    """
    loans = Loan.objects.filter(enrolment__run=run, stage=LoanStage.ASSIGNED)
    locked = lock_in_order(loans.select_related("enrolment__student"))
    followers = [loan for loan in locked if _follows(loan, before)]
    rules = day_rules()
    for loan in followers:
        days = loan_days(run, str(loan.enrolment.student.country or ""), rules)
        loan.post_by, loan.post_by_rule = days.post.day, days.post.rule
        loan.due_on, loan.due_on_rule = days.due.day, days.due.rule
    columns = ["post_by", "post_by_rule", "due_on", "due_on_rule"]
    Loan.objects.bulk_update(followers, columns, batch_size=200)


def _follows(loan: Loan, run: CourseRun) -> bool:
    """Whether both days of a loan are as the run gave them."""
    posted = bool(loan.post_by_rule) if run.post_by_rule else loan.post_by == run.post_by
    due = bool(loan.due_on_rule) if run.return_by_rule else loan.due_on == run.return_by
    return posted and due


@transaction.atomic
def save_student(student: Student) -> Student:
    """Create or change a student.

    Raises
    ------
    Refused
        If another student has the e-mail address, or this one was erased.
    """
    if student.erased_at:
        raise Refused("This student was erased. Enrol somebody who comes back as a new student.")
    alike = Student.objects.filter(but_for_case("email", student.email))
    twin = alike.exclude(pk=student.pk).first()
    if twin is not None:
        raise Refused(f"{twin.name} has this e-mail address already.", field="email")
    try:
        with transaction.atomic():
            student.save()
    except IntegrityError as taken_now:
        raise Refused(
            "This e-mail address was entered a moment ago. Look the student up.", field="email"
        ) from taken_now
    return student


@transaction.atomic
def enrol(run: CourseRun, student: Student) -> Enrolment:
    """Put a student on a run; one who withdrew is on it again, one who is on it stays on it."""
    run = CourseRun.objects.select_for_update(no_key=True).get(pk=run.pk)
    enrolment, _ = Enrolment.objects.get_or_create(run=run, student=student)
    if enrolment.withdrawn_on:
        enrolment.withdrawn_on = None
        enrolment.save(update_fields=["withdrawn_on"])
    return enrolment


@transaction.atomic
def enrol_new(run: CourseRun, student: Student) -> Enrolment:
    """Enrol somebody who was typed in: a known e-mail address means the student on file, whose
    empty facts are filled.

    Raises
    ------
    Refused
        If the student on file is on the run already.
    """
    on_file = (
        Student.objects.select_for_update().filter(but_for_case("email", student.email)).first()
    )
    if on_file is None:
        return enrol(run, save_student(student))
    if Enrolment.objects.filter(run=run, student=on_file, withdrawn_on__isnull=True).exists():
        raise Refused(f"{on_file.name} is on this run already.", field="email")
    for name in STUDENT_FIELDS:
        if not getattr(on_file, name):
            setattr(on_file, name, getattr(student, name))
    on_file.save()
    return enrol(run, on_file)


@transaction.atomic
def withdraw(
    enrolment: Enrolment, *, on: date | None = None, actor: Actor = None, at: datetime | None = None
) -> Enrolment:
    """Take a student off a run; a kit that is only assigned is free again, one that is away stays
    due.

    Raises
    ------
    Refused
        If the kit is packed: the parcel must be opened first.
    """
    lock_kits(
        Kit.objects.filter(
            Q(loans__enrolment=enrolment, loans__stage__in=OPEN_STAGES)
            | Q(earmarks__enrolment=enrolment)
        ).values_list("pk", flat=True)
    )
    [enrolment] = lock_in_order(Enrolment.objects.select_related("student").filter(pk=enrolment.pk))
    if enrolment.withdrawn_on:
        return enrolment
    loan = enrolment.loans.filter(stage__in=OPEN_STAGES).select_related("kit").first()
    if loan is not None and loan.stage == LoanStage.PACKED:
        raise Refused(
            f"Kit {loan.kit.code} is packed for {enrolment.student.name}: unpack it first."
        )
    if loan is not None and loan.stage == LoanStage.ASSIGNED:
        unassign(loan.kit, reason="withdrew from the run", actor=actor, at=at)
    let_go(enrolment, actor=actor, at=at)
    enrolment.withdrawn_on = on or timezone.localdate()
    enrolment.save(update_fields=["withdrawn_on"])
    return enrolment


def assign_all(
    pairs: Sequence[tuple[Enrolment, Kit]], *, actor: Actor = None, at: datetime | None = None
) -> list[Loan]:
    """Assign a kit to each enrolment, all or none.

    Raises
    ------
    Refused
        At the first pair that cannot be; its `field` is ``kit_<enrolment>``.
    """
    return assign_many(
        [Assignment(kit, enrolment) for enrolment, kit in pairs],
        field_of=lambda enrolment: f"kit_{enrolment.pk}",
        actor=actor,
        at=at,
    )
