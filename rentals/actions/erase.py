"""Erasing a student: every row, word and file that names them; counts, sums and history stay."""

from __future__ import annotations

import functools
from collections import Counter
from datetime import datetime

from django.db import connection
from django.utils import timezone

from rentals import transaction
from rentals.errors import Refused
from rentals.models import Enrolment, Kit, Message, Student, SubmittedForm
from rentals.privacy.keeping import NOBODY
from rentals.selectors.erasures import holds_of
from rentals.selectors.persons import person_alone, person_of
from rentals.states import UNSENT_MAILS

from .discard import discard
from .earmark import let_go
from .erase_events import plain_words_of_loans, sweep_events
from .erase_files import delete_files, files_of, overwrite_in_files
from .erase_rows import empty_rows, sweep_rows, sweep_sessions
from .erased_list import note_erased
from .errands import forget_results
from .lock_order import lock_in_order, lock_kits
from .record import Actor, record_erasure


@transaction.atomic
def erase(
    student: Student,
    *,
    why: str = "on request",
    actor: Actor = None,
    at: datetime | None = None,
) -> Student:
    """Empty all that is kept about a student. Safe to repeat.

    Raises
    ------
    Refused
        If a loan is open or not settled, money is owed, or the student is on a run that goes on.
    """
    set_aside = Kit.objects.filter(earmarks__enrolment__student=student)
    lock_kits(set_aside.values_list("pk", flat=True))
    student = Student.objects.select_for_update().get(pk=student.pk)
    if student.erased_at:
        return student
    at = at or timezone.now()
    if holds := holds_of([student], timezone.localdate(at))[student.pk]:
        raise Refused(" ".join(holds))
    _take_back_what_waits(student, actor=actor, at=at)
    person, alone, files = person_of(student), person_alone(student), files_of(student)
    words = plain_words_of_loans(student, person) | sweep_events(alone)
    counts = Counter(empty_rows(student, person))
    overwritten = overwrite_in_files(student, alone)
    counts["files"] = len(files) + len(overwritten)
    sweep_rows(alone)
    sweep_sessions(alone)
    _forget_searches()
    forget_results()
    Student.objects.filter(pk=student.pk).update(erased_at=at)
    text = f"{NOBODY} was erased, {why}."
    facts = {"words": words, "counts": dict(counts), "files": overwritten}
    record_erasure(student.pk, text, actor=actor, at=at, **facts)
    # Last: a file that is gone cannot be rolled back. Not after the act, as for other files: mails
    # in the outbox would keep the name for good if the process were killed between.
    delete_files(files)
    transaction.on_commit(functools.partial(note_erased, [student.pk]))
    transaction.on_commit(_empty_the_write_ahead_log)
    student.refresh_from_db()
    return student


def _take_back_what_waits(student: Student, *, actor: Actor, at: datetime) -> None:
    unsent = Message.objects.filter(
        loan__enrolment__student=student, state__in=[*UNSENT_MAILS, Message.State.FAILED]
    )
    for message in lock_in_order(unsent):
        discard(message, actor=actor, at=at)
    for enrolment in Enrolment.objects.filter(student=student, earmarks__isnull=False):
        let_go(enrolment, actor=actor, at=at)


def _forget_searches() -> None:
    """Addresses that forms led to may end with what was searched for, such as a name."""
    for form in SubmittedForm.objects.filter(result__contains="?").only("pk", "result"):
        address, _, _ = form.result.partition("?")
        SubmittedForm.objects.filter(pk=form.pk).update(result=address)


def _empty_the_write_ahead_log() -> None:
    """The log of the database file holds pages of before until it is written over."""
    if connection.vendor == "sqlite" and not connection.in_atomic_block:
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
