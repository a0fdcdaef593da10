"""Reading rosters under way: their rows as people, against the students on file."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from django.db.models.functions import Lower

from rentals.models import Enrolment, RosterDraft, Student
from rentals.roster.addresses import email_key
from rentals.roster.people import KEPT, Choices, Known, PersonRow, read_people, texts_of
from rentals.roster.sheet import SheetRow

_CHUNK = 500


def sheet_rows(draft: RosterDraft) -> list[SheetRow]:
    """Rows of a draft below its heads, as they were read from the file."""
    return [
        SheetRow(
            number, tuple(cells), {int(column): trouble for column, trouble in troubles.items()}
        )
        for number, cells, troubles in draft.content["rows"]
    ]


def known_students(emails: Iterable[str]) -> dict[str, Student]:
    """Students on file by `email_key`, whatever capitals their addresses were written in."""
    keys = sorted({email_key(email) for email in emails if email})
    on_file: dict[str, Student] = {}
    for start in range(0, len(keys), _CHUNK):
        students = Student.objects.annotate(key=Lower("email")).filter(
            key__in=keys[start : start + _CHUNK]
        )
        on_file.update({email_key(student.email): student for student in students})
    return on_file


def people_of(draft: RosterDraft) -> list[PersonRow]:
    """Every row of a draft as a person, with what is wrong, what was decided, and how it differs
    from the record.
    """
    content = draft.content
    rows = sheet_rows(draft)
    fixes = {int(number): texts for number, texts in content["fixes"].items()}
    choices = Choices(fixes, frozenset(content["left_out"]), frozenset(content["keep"]))
    emails = (texts_of(row, content["fields"], fixes.get(row.number, {}))["email"] for row in rows)
    return read_people(
        rows,
        content["fields"],
        width=len(content["heads"]),
        on_file=dict(_students_on_file(draft, emails)),
        choices=choices,
    )


def _students_on_file(draft: RosterDraft, emails: Iterable[str]) -> Iterator[tuple[str, Known]]:
    on_run = dict(
        Enrolment.objects.filter(run_id=draft.run_id).values_list("student_id", "withdrawn_on")
    )
    for key, student in known_students(emails).items():
        person = {name: str(getattr(student, name) or "") for name in KEPT}
        person["country"] = str(student.country)
        yield key, Known(person, student.pk in on_run, bool(on_run.get(student.pk)))


def column_samples(draft: RosterDraft, rows: int = 3) -> list[str]:
    """For each column of a draft the first few texts in it, to tell what it holds."""
    samples = []
    sheet = sheet_rows(draft)
    for column in range(len(draft.content["heads"])):
        texts = (
            row.cells[column] for row in sheet if column < len(row.cells) and row.cells[column]
        )
        samples.append(", ".join(text[:40] for text, _ in zip(texts, range(rows), strict=False)))
    return samples
