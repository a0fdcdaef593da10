"""All that the desk holds of one student, as a ZIP to hand over."""

from __future__ import annotations

import contextlib
import io
import json
import shutil
import zipfile
from pathlib import Path, PurePosixPath
from typing import Any

from django.apps import apps
from django.db import models
from django.db.models import Q

from rentals.models import Attachment, Event, Message, Student
from rentals.privacy.keeping import Table
from rentals.privacy.of_students import OF_STUDENTS

from .export import Cell, ExportFormat, export_rows

#: Keys to a door, and bytes that go as files of their own.
_LEFT_OUT = {"nonce", "token_sha256", "content", "body_html"}
#: Digests of the log say nothing of the student.
_EVENT_FIELDS = ("at", "verb", "text", "actor_name", "kit", "loan", "part", "data")
_README = """All that this desk holds of {name}.

data.json     every table below as a list of rows, in one file (UTF-8)
tables/       the same as CSV: RFC 4180, UTF-8 with a byte order mark; the first line names the
              columns; a text that a spreadsheet would run as a formula begins with an apostrophe
mails/        the words of each mail, and the files that went with it, by the mail's number
files/        photos of what came back and recordings sent in, by table and number

Columns that end in "id" are numbers of rows in other tables: "loan_id" is the "id" in Loan.
Days are YYYY-MM-DD, times are in UTC with their offset, sums are in the currency named beside them
or in {currency}.

Tables:
{tables}
"""


def student_data(student: Student, currency: str) -> bytes:
    """The ZIP: README.txt, data.json, tables, mails with their papers, files, and the events that
    concern the student.
    """
    tables = {table.model.split(".")[1]: _rows(table, student) for table in OF_STUDENTS}
    tables["Event"] = _events(student)
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("README.txt", _readme(student, currency))
        text = json.dumps(tables, ensure_ascii=False, indent=1, default=str)
        archive.writestr("data.json", text)
        for name, rows in tables.items():
            archive.writestr(f"tables/{name}.csv", _csv(rows))
        _write_mails(archive, student)
        _write_files(archive, student)
    return packed.getvalue()


def _readme(student: Student, currency: str) -> str:
    lines = [f"{table.model.split('.')[1]}: {table.what}. {table.why}." for table in OF_STUDENTS]
    lines.append("Event: What happened with the student's kits, in the words of the history.")
    return _README.format(name=student.name, currency=currency, tables="\n".join(lines))


def _rows(table: Table, student: Student) -> list[dict[str, Any]]:
    model = apps.get_model(table.model)
    rows = model._default_manager.filter(**{table.of: student.pk}).order_by("pk")
    names = [field.attname for field in model._meta.concrete_fields if _goes_along(field)]
    return list(rows.values(*names))


def _goes_along(field: models.Field) -> bool:
    return field.name not in _LEFT_OUT


def _events(student: Student) -> list[dict[str, Any]]:
    own = Q(loan__enrolment__student=student) | Q(chain=f"student {student.pk}")
    enrolments = list(student.enrolments.values_list("pk", flat=True))
    events = Event.objects.filter(own | Q(data__enrolment__in=enrolments))
    return list(events.order_by("pk").values(*_EVENT_FIELDS))


def _csv(rows: list[dict[str, Any]]) -> bytes:
    head = list(rows[0]) if rows else []
    cells = ([_cell(value) for value in row.values()] for row in rows)
    return export_rows(head, cells, ExportFormat.CSV)


def _cell(value: Any) -> Cell:
    if value is None or isinstance(value, int | float):
        return value
    if isinstance(value, dict | list):
        return json.dumps(value, ensure_ascii=False, default=str)
    return str(value)


def _write_mails(archive: zipfile.ZipFile, student: Student) -> None:
    mails = Message.objects.filter(loan__enrolment__student=student).order_by("pk")
    for mail in mails:
        head = f"To: {mail.to_name} <{mail.to_address}>\nSubject: {mail.subject}\n"
        state = f"State: {mail.get_state_display()}\n\n"
        archive.writestr(f"mails/{mail.pk}/mail.txt", head + state + mail.body_text)
    papers = Attachment.objects.filter(message__in=mails).order_by("pk")
    for paper in papers.iterator(chunk_size=20):
        if paper.content:
            name = Path(paper.file_name).name
            archive.writestr(f"mails/{paper.message_id}/{paper.pk} {name}", bytes(paper.content))


def _write_files(archive: zipfile.ZipFile, student: Student) -> None:
    for table in OF_STUDENTS:
        if not table.files:
            continue
        model = apps.get_model(table.model)
        for row in model._default_manager.filter(**{table.of: student.pk}).order_by("pk"):
            file = getattr(row, table.files)
            name = f"files/{model.__name__}/{row.pk}{PurePosixPath(str(file.name)).suffix}"
            with (
                contextlib.suppress(FileNotFoundError),
                file.storage.open(file.name) as source,
                archive.open(name, "w", force_zip64=True) as target,
            ):
                shutil.copyfileobj(source, target)
