"""Rosters: keep an uploaded one as a draft, note what is decided in its preview, and carry it out
once.
"""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from gettext import ngettext
from typing import Any

from django.db import IntegrityError
from django.utils import timezone

from rentals import transaction
from rentals.counts import counted
from rentals.errors import Refused
from rentals.models import CourseRun, Enrolment, RosterDraft, Student
from rentals.roster.addresses import email_key
from rentals.roster.apart import read_roster_apart
from rentals.roster.columns import match_columns, rows_below
from rentals.roster.letters import ENCODINGS
from rentals.roster.people import KEPT, PersonRow, RowStanding
from rentals.roster.sheet import RosterSheet, RosterUnreadable, SheetRow
from rentals.selectors.rosters import known_students, people_of

from .record import Actor
from .runs import enrol

_BATCH = 500


@transaction.atomic
def keep_draft(
    run: CourseRun,
    sheet: RosterSheet,
    *,
    file_name: str,
    original: bytes = b"",
    actor: Actor = None,
    at: datetime | None = None,
) -> RosterDraft:
    """Keep a sheet that was read; nothing of it counts before the preview is clean. An older draft
    of the run goes. The `original` bytes are kept where their letters are not certain.
    """
    draft = new_draft(run, sheet, file_name=file_name, original=original)
    draft.at, draft.by = at or timezone.now(), actor
    RosterDraft.objects.filter(run=run, imported_at__isnull=True).delete()
    draft.save()
    return draft


def new_draft(
    run: CourseRun, sheet: RosterSheet, *, file_name: str, original: bytes = b""
) -> RosterDraft:
    """A draft that is not saved; `Refused` where no row stands below the heads."""
    content = _content_of(sheet, original)
    return RosterDraft(run=run, file_name=file_name[:200], content=content)


def _content_of(sheet: RosterSheet, original: bytes) -> dict[str, Any]:
    """What a draft keeps of a sheet; nothing is decided yet."""
    columns = match_columns(sheet)
    rows = rows_below(sheet, columns.head_row)
    if not rows:
        raise Refused("There are heads but no students below them.", field="file")
    return {
        "heads": list(columns.heads),
        "head_row": columns.head_row,
        "width": columns.width,
        "fields": columns.fields,
        "columns_said": False,
        "notes": list(sheet.notes),
        "rows": [_row_of(row) for row in rows],
        "fixes": {},
        "left_out": [],
        "keep": [],
        "answers": {},
        "letters": sheet.letters,
        "letters_said": False,
        "original": base64.b64encode(original).decode() if sheet.letters else "",
    }


def _row_of(row: SheetRow) -> list[Any]:
    troubles = {str(column): trouble for column, trouble in row.troubles.items()}
    return [row.number, list(row.cells), troubles, row.width]


@transaction.atomic
def choose_letters(draft: RosterDraft, encoding: str) -> RosterDraft:
    """Read the draft's file with the letters that a person saw to be right. Other letters make
    another table: what was decided in its preview is decided anew.
    """
    draft = _locked(draft)
    original = base64.b64decode(draft.content.get("original", ""))
    if not original or encoding not in ENCODINGS:
        raise Refused("Choose how the letters are read.", field="letters")
    if encoding != draft.content["letters"]:
        try:
            draft.content = _content_of(read_roster_apart(original, encoding), original)
        except RosterUnreadable as unreadable:
            raise Refused(str(unreadable), field="letters") from unreadable
    draft.content["letters_said"] = True
    draft.save(update_fields=["content"])
    return draft


def _locked(draft: RosterDraft) -> RosterDraft:
    draft = (
        RosterDraft.objects.select_for_update(of=("self",)).select_related("run").get(pk=draft.pk)
    )
    if draft.imported_at:
        raise Refused(f"This roster was imported already: {draft.result}")
    return draft


@transaction.atomic
def choose_columns(draft: RosterDraft, fields: Mapping[str, int]) -> RosterDraft:
    """Say which column is what."""
    draft = _locked(draft)
    draft.content["fields"] = dict(fields)
    draft.content["columns_said"] = True
    draft.save(update_fields=["content"])
    return draft


@transaction.atomic
def correct_rows(
    draft: RosterDraft,
    *,
    fixes: Mapping[int, Mapping[str, str]],
    left_out: Mapping[int, bool],
    keep: Mapping[int, bool],
    answers: Mapping[int, Mapping[str, str]] | None = None,
) -> RosterDraft:
    """Note what was typed or ticked in the preview, for the rows given; all others stay as they
    were. `answers` are the sentences of the questions answered with yes, by row and key.
    """
    draft = _locked(draft)
    content = draft.content
    for number, texts in fixes.items():
        content["fixes"].setdefault(str(number), {}).update(
            {k: v for k, v in texts.items() if k in KEPT}
        )
    content.setdefault("answers", {}).update(
        {str(number): dict(sentences) for number, sentences in (answers or {}).items()}
    )
    content["left_out"] = _with(content["left_out"], left_out)
    content["keep"] = _with(content["keep"], keep)
    draft.save(update_fields=["content"])
    return draft


def _with(numbers: list[int], decided: Mapping[int, bool]) -> list[int]:
    chosen = (set(numbers) - set(decided)) | {number for number, on in decided.items() if on}
    return sorted(chosen)


@transaction.atomic
def leave_out_bad(draft: RosterDraft, *, only_enrolled: bool = False) -> RosterDraft:
    """Leave out, on purpose, every row that stands in the way (or only those that are on the run
    already).
    """
    draft = _locked(draft)
    bad = [
        row.number
        for row in people_of(draft)
        if row.bad and (not only_enrolled or row.standing == RowStanding.ON_RUN)
    ]
    return correct_rows(draft, fixes={}, left_out=dict.fromkeys(bad, True), keep={})


@transaction.atomic
def answer_all(draft: RosterDraft, key: str) -> RosterDraft:
    """Answer every open question of one sort with yes."""
    answers = {
        row.number: {
            question.key: question.sentence
            for question in row.questions
            if question.answered or question.key == key
        }
        for row in people_of(draft)
        if any(question.key == key for question in row.open_questions)
    }
    return correct_rows(draft, fixes={}, left_out={}, keep={}, answers=answers)


@transaction.atomic
def discard_draft(draft: RosterDraft) -> None:
    """Throw an uploaded roster away; nothing of it was saved."""
    _locked(draft).delete()


def importable(people: Iterable[PersonRow]) -> list[PersonRow]:
    """The rows of a preview that are to be saved.

    Raises
    ------
    Refused
        If a row is still bad and not left out, or no row is left.
    """
    people = list(people)
    bad = [row.number for row in people if row.bad]
    if bad:
        numbers = ", ".join(str(number) for number in bad[:8]) + (
            " and more" if len(bad) > 8 else ""
        )
        in_the_way = ngettext(
            "Row %(rows)s still stands in the way: correct it, answer it or leave it out.",
            "Rows %(rows)s still stand in the way: correct them, answer them or leave them out.",
            len(bad),
        )
        raise Refused(f"Nothing was saved. {in_the_way % {'rows': numbers}}")
    to_import = [row for row in people if row.counted]
    if not to_import:
        raise Refused("Every row is left out: there is nobody to import.")
    return to_import


@transaction.atomic
def import_draft(
    draft: RosterDraft,
    *,
    actor: Actor = None,
    at: datetime | None = None,
    last: Callable[[RosterDraft, list[PersonRow]], object] = lambda draft, people: None,
) -> RosterDraft:
    """Save the people of a clean draft and enrol them, all or none; a second time does nothing.
    `last` is called with the draft and all its rows before it counts.

    Raises
    ------
    Refused
        If a row is still bad and not left out, or no row is left.
    """
    draft = (
        RosterDraft.objects.select_for_update(of=("self",)).select_related("run").get(pk=draft.pk)
    )
    if draft.imported_at:
        return draft
    people = people_of(draft)
    to_import = importable(people)
    added, changed = _save_people(to_import)
    enrolled = _enrol_people(draft.run, to_import)
    left = len(people) - len(to_import)
    draft.imported_at, draft.content = at or timezone.now(), {}
    records = counted(changed, "known record", "known records")
    result = f"{enrolled} enrolled, {added} of them new, {records} updated"
    left_out = counted(left, "row", "rows")
    draft.result = f"{result}, {left_out} left out." if left else f"{result}."
    draft.by = actor or draft.by
    draft.save()
    last(draft, people)
    return draft


def _save_people(rows: list[PersonRow]) -> tuple[int, int]:
    """How many students were added, and how many records changed."""
    new = [Student(**_student_facts(row)) for row in rows if row.standing == RowStanding.NEW]
    try:
        with transaction.atomic():
            Student.objects.bulk_create(new, batch_size=_BATCH)
    except IntegrityError as taken:
        raise Refused(
            "Somebody else wrote down one of these students a moment ago. Look at the preview"
            " again."
        ) from taken
    changed = [row for row in rows if row.standing == RowStanding.KNOWN and not row.keep]
    on_file = known_students(row.person["email"] for row in changed)
    students = []
    for row in changed:
        student = on_file[email_key(row.person["email"])]
        for name, text in _student_facts(row).items():
            if text and name != "email":
                setattr(student, name, text)
        students.append(student)
    Student.objects.bulk_update(
        students, [name for name in KEPT if name != "email"], batch_size=_BATCH
    )
    return len(new), len(students)


def _enrol_people(run: CourseRun, rows: Iterable[PersonRow]) -> int:
    """Enrol all who are not on the run yet; how many that were."""
    students = known_students(row.person["email"] for row in rows)
    enrolments = {e.student_id: e for e in Enrolment.objects.filter(run=run)}
    fresh = [s for s in students.values() if s.pk not in enrolments]
    again = [s for s in students.values() if s.pk in enrolments and enrolments[s.pk].withdrawn_on]
    for student in again:
        enrol(run, student)
    Enrolment.objects.bulk_create(
        [Enrolment(run=run, student=s) for s in fresh], batch_size=_BATCH, ignore_conflicts=True
    )
    return len(fresh) + len(again)


def _student_facts(row: PersonRow) -> dict[str, str]:
    return {name: row.person[name] for name in KEPT}
