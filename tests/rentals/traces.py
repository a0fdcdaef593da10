"""A loan that leaves personal data everywhere, and the search for what is left of it."""

from __future__ import annotations

import email
import email.policy
import json
from collections.abc import Iterable
from datetime import timedelta
from hashlib import sha256
from pathlib import Path

from django.apps import apps
from django.conf import settings
from django.contrib.sessions.backends.db import SessionStore
from django.core.files.base import ContentFile
from django.db import models
from django.utils import timezone

from readiness.models import Capture, Upload
from rentals import transaction
from rentals.actions.approve import approve_many
from rentals.actions.balance import note_balance_paid
from rentals.actions.dispatch import dispatch
from rentals.actions.draft import draft
from rentals.actions.receive import arrive, finish_check, note_line
from rentals.actions.return_scan import note_found
from rentals.actions.send import send_due_mails
from rentals.actions.settle import charge, settle
from rentals.models import CourseRun, Loan, Message, RosterDraft, Student
from tests.factories import EnrolmentFactory, complete_kit, packed_loan
from tests.rentals.photos import add_pictures

NAME, MAIL = "Quenby Zarvik", "quenby@wolken.example"
PHONE, STREET, NUMBER = "+49 170 555 0199", "Wolkenpfad 77", "ZV4411223344"
WORDS = (NAME, MAIL, PHONE, STREET, NUMBER, "Zarvik", "Wolkenpfad")


def finished_loan(**facts: object) -> Loan:
    """A loan from its assignment to its last payment, whose run has ended: with mails in the
    outbox, a note, a photo, a shortfall, a roster draft, a notice and a capture that name the
    student.
    """
    student = Student.objects.create(
        **{"name": NAME, "email": MAIL, "phone": PHONE, "street": STREET, "country": "DE"} | facts
    )
    kit = complete_kit()
    enrolment = EnrolmentFactory(student=student, run__kit_type=kit.kit_type)
    loan = packed_loan(kit, enrolment)
    dispatch(loan.kit, carrier="By hand", tracking_number=NUMBER)
    mail = draft(Message.Occasion.ON_ITS_WAY, loan)
    approve_many([mail.pk])
    send_due_mails()
    check = arrive(loan.kit)
    note_found(check, f"{NAME}'s house key")
    for line in check.lines.filter(outcome="open"):
        note_line(line, "back", cleaned=True, charged=True)
    charger = check.lines.get(packing_line__part_kind="charger")
    note_line(charger, "missing", note=f"{NAME} lost it")
    add_pictures(charger.packing_line, b"a face")
    finish_check(check)
    with transaction.atomic():
        check.loan.shortfalls.update(reason=f"{NAME} said so")
    charge(check.loan.shortfalls.get(), check.loan.shortfalls.get().amount)
    settle(loan)
    note_balance_paid(loan, timezone.localdate())
    _long_ago(enrolment.run)
    _elsewhere(loan)
    return Loan.objects.get(pk=loan.pk)


def _long_ago(run: CourseRun) -> None:
    days = {name: getattr(run, name) - timedelta(days=120) for name in ("starts_on", "ends_on")}
    CourseRun.objects.filter(pk=run.pk).update(**days)


@transaction.atomic
def _elsewhere(loan: Loan) -> None:
    """A note on the kit, a roster draft, a notice that waits and a capture with a header."""
    loan.kit.note = f"Belongs to {NAME.upper()} for now"
    loan.kit.save(update_fields=["note"])
    rows = [{"cells": {"name": NAME, "email": MAIL}}]
    run = loan.enrolment.run
    RosterDraft.objects.create(run=run, file_name="r.csv", content=rows, at=timezone.now())
    notices = SessionStore()
    notices["notice"] = f"{NAME} saved."
    notices.save()
    header = f"# subject: Zarvik, Quenby\n# phone {PHONE}\n1,2\n".encode()
    Capture.objects.create(
        upload=Upload.objects.create(at=timezone.now()),
        name=f"{NAME} still.csv",
        size=len(header),
        sha256=sha256(header).hexdigest(),
        file=ContentFile(header, name="x"),
        kit=loan.kit,
        taken=timezone.now(),
        declared={"operator": NAME},
    )


def traces(words: Iterable[str]) -> list[str]:
    """Every place in tables and files where one of the words stands."""
    sought = [word.casefold() for word in words]
    places = [*_in_tables(), *_in_files()]
    return [place for place, text in places if any(word in text.casefold() for word in sought)]


def _in_tables() -> Iterable[tuple[str, str]]:
    for model in apps.get_models():
        if model._meta.app_label in ("contenttypes", "auth"):
            continue
        fields = [f for f in model._meta.local_concrete_fields if _holds_text(f)]
        for field in fields:
            for value in model._base_manager.values_list(field.attname, flat=True).distinct():
                yield f"{model._meta.label}.{field.name}", _text(field, value)


def _holds_text(field: models.Field) -> bool:
    kinds = (models.CharField, models.TextField, models.JSONField, models.FileField)
    return isinstance(field, (*kinds, models.BinaryField))


def _text(field: models.Field, value: object) -> str:
    if field.name == "session_data":
        value = SessionStore().decode(str(value))
    if isinstance(value, bytes | memoryview):
        return bytes(value).decode("latin-1")
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False, default=str)


def _in_files() -> Iterable[tuple[str, str]]:
    for folder in (settings.MEDIA_ROOT, settings.KITDESK_OUTBOX, settings.KITDESK_ERASURES):
        for path in Path(folder).rglob("*"):
            if path.is_file():
                data = path.read_bytes()
                yield str(path), f"{path.name} {data.decode('utf-8', 'replace')}"
                if path.suffix == ".eml":
                    mail = email.message_from_bytes(data, policy=email.policy.default)
                    body = mail.get_body(("plain",))
                    yield str(path), f"{mail['To']} {body.get_content() if body else ''}"
