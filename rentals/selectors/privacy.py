"""What the pages about personal data show."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from rentals.models import Attachment, LinePhoto, Loan, Message, Practice, Student
from rentals.privacy.in_words import Terms, what_erasure_does
from rentals.privacy.of_the_desk import ELSEWHERE
from rentals.privacy.registry import TABLES

from .erasures import holds_of, months_after


@dataclass(frozen=True)
class KeptRow:
    """One kind of data: what, why, for how long, and what an erasure does to it."""

    what: str
    why: str
    how_long: str
    erased: str


@dataclass(frozen=True)
class DueRow:
    """One student who is erased by and by: when, or what holds it up first."""

    student: Student
    due_on: date
    holds: list[str]


def terms_of(practice: Practice) -> Terms:
    """How long this desk keeps things."""
    return Terms(
        practice.months_to_keep_students,
        practice.months_to_keep_photos,
        practice.days_to_keep_drafts,
    )


def what_is_kept(practice: Practice) -> list[KeptRow]:
    """Everything of the list that can concern a student, in tables and elsewhere."""
    terms = terms_of(practice)
    rows = [
        KeptRow(table.what, table.why, terms.words(table.term), what_erasure_does(table))
        for table in TABLES
        if table.what
    ]
    return [*rows, *(KeptRow(e.what, e.holds, e.how_long, e.erased) for e in ELSEWHERE)]


def due_rows(students: Iterable[Student], practice: Practice) -> list[DueRow]:
    """Students as `by_rest` gives them, with the day from which each is erased."""
    students = list(students)
    holds = holds_of(students)
    months = practice.months_to_keep_students
    return [
        DueRow(student, months_after(student.at_rest, months), holds[student.pk])  # type: ignore[attr-defined]
        for student in students
    ]


def erasure_effects(student: Student) -> tuple[str, ...]:
    """What erasing a student does, for the page that asks first."""
    mails = Message.objects.filter(loan__enrolment__student=student)
    papers = Attachment.objects.filter(message__in=mails).count()
    photos = LinePhoto.objects.filter(packing_line__loan__enrolment__student=student).count()
    loans = Loan.objects.filter(enrolment__student=student).count()
    return (
        f"{student.name} has no name, e-mail, phone, address and note any more.",
        f"Mails that lose their words and address: {mails.count()}. Papers sent with them, which"
        f" are deleted: {papers}. Their files in the outbox go too.",
        f"Photos that are deleted: {photos}.",
        "Roster drafts that name the student are deleted; in notes, history and the heads of"
        " captures the name is replaced.",
        f"Loans that stay, with days, parts and sums: {loans}. The history stays whole and can be"
        " verified.",
        "Older backups still hold the student until they are rotated out or deleted. When one is"
        " put back, the student is erased again.",
    )
