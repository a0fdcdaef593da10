"""Files of a student: photos and mails that go, and capture files that keep their samples."""

from __future__ import annotations

import email.policy
import hashlib
from collections.abc import Sequence
from email.parser import BytesHeaderParser
from pathlib import Path
from typing import Any

from django.apps import apps
from django.conf import settings
from django.core.files.base import ContentFile
from django.db.models.fields.files import FieldFile

from rentals.models import Message, Student
from rentals.privacy.registry import TABLES
from rentals.privacy.sweeping import Person

#: A mail in the outbox, or a file that a row names.
OwnFile = Path | FieldFile
#: The head of a mail is never longer.
_HEAD_BYTES = 16_384


def files_of(student: Student) -> list[OwnFile]:
    """The files that go with the student: those of rows that go, and mails written to files."""
    return [*_files_of_rows(student), *_mails(student)]


def delete_files(files: Sequence[OwnFile]) -> None:
    """Delete the files; one that is gone already is no fault."""
    for file in files:
        if isinstance(file, Path):
            file.unlink(missing_ok=True)
        else:
            file.storage.delete(str(file.name))


def _files_of_rows(student: Student) -> list[FieldFile]:
    found = []
    for table in TABLES:
        if table.files:
            rows = apps.get_model(table.model)._default_manager.filter(**{table.of: student.pk})
            found += [getattr(row, table.files) for row in rows]
    return found


def _mails(student: Student) -> list[Path]:
    """Mails in the outbox to an address to which the student was written, by whichever way."""
    written = Message.objects.filter(loan__enrolment__student=student)
    known = {path for path in written.values_list("written_to", flat=True) if path}
    addresses = {student.email.lower()}
    addresses |= {to.lower() for to in written.values_list("to_address", flat=True) if to}
    outbox = Path(settings.KITDESK_OUTBOX)
    found = [path for path in outbox.glob("*.eml") if _recipients(path) & addresses]
    return [*found, *(Path(path) for path in known if Path(path) not in found)]


def _recipients(path: Path) -> set[str]:
    with path.open("rb") as file:
        head = file.read(_HEAD_BYTES)
    parser = BytesHeaderParser(policy=email.policy.default)
    header = parser.parsebytes(head)["To"]
    return {address.addr_spec.lower() for address in getattr(header, "addresses", ())}


def overwrite_in_files(student: Student, person: Person) -> dict[str, str]:
    """Write ``x`` over the person's words in files that stay. Returns, by table and number of each
    row whose file had any, the SHA-256 of what it holds now: what `verify` asks for.

    A row keeps the SHA-256 of the bytes as they came: so the same file, dropped again, is still
    known.
    """
    changed = {}
    for table in TABLES:
        if not table.bytes_swept:
            continue
        rows = apps.get_model(table.model)._default_manager.filter(**{table.bytes_of: student.pk})
        for row in rows.distinct():
            if digest := _overwrite(getattr(row, table.bytes_swept), person):
                changed[f"{row._meta.label_lower} {row.pk}"] = digest
    return changed


def _overwrite(file: FieldFile, person: Person) -> str:
    # One of ours, which can do more than Django asks of a storage.
    storage: Any = file.storage
    try:
        with storage.open(file.name) as stream:
            data = stream.read()
    except FileNotFoundError:
        return ""
    swept = person.swept_bytes(data)
    if swept == data:
        return ""
    storage.put(file.name, ContentFile(swept))
    return hashlib.sha256(swept).hexdigest()
