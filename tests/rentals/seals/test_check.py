"""The log: nothing that matters is changed by hand without `verify` naming the row."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.db import connection, transaction
from django.utils import timezone

import rentals.transaction
from readiness.actions.claim_capture import LEASE, claim, release_expired
from readiness.actions.upload import store_upload
from readiness.models import Capture
from rentals.actions.line_photos import remove_photo
from rentals.actions.record import record_part
from rentals.lifecycle import Verb
from rentals.models import Event, Kit, Loan, LogHead, LogLine, Part, ReturnCheck
from rentals.seals.chain import head_of_log
from rentals.seals.check import OTHER_KEY
from rentals.seals.opening import take_on_key
from rentals.verify import verify
from tests.factories import complete_kit, packed_loan
from tests.rentals.photos import add_pictures

pytestmark = pytest.mark.django_db


@pytest.fixture
def loan() -> Loan:
    return packed_loan()


def test_a_row_that_is_gone_or_new_is_named(loan):
    other = Part.objects.filter(kit=loan.kit).last()
    new = Part.objects.create(code="P-XXXX", kind="charger", serial="by hand")
    check = ReturnCheck.objects.create(loan=loan, started_at=timezone.now())
    faults = verify()
    assert f"Part {new.pk} stands in no line of the log." in faults
    assert f"Return check {check.pk} stands in no line of the log." in faults
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM rentals_event WHERE part_id = %s", [other.pk])
        cursor.execute("UPDATE rentals_loan SET deposit = 1 WHERE id = %s", [loan.pk])
        cursor.execute("DELETE FROM rentals_returncheck WHERE id = %s", [check.pk])
    faults = verify()
    assert f"Loan {loan.pk} is not as the log has it." in faults
    assert not any("Return check" in fault for fault in faults)
    assert any(fault.startswith("Event ") and "is gone" in fault for fault in faults)


def test_the_last_event_of_a_part_and_a_whole_chain_are_missed(loan):
    part = Part.objects.filter(kit=loan.kit).first()
    last = record_part(part, Verb.NOTED, "Looked at.")
    assert verify() == []
    with transaction.atomic():
        _delete_events([last.pk])
        assert verify() == [f"Event {last.pk} is gone; the log has it."]
        transaction.set_rollback(True)
    chain = list(Event.objects.filter(chain=part.code).values_list("pk", flat=True))
    _delete_events(chain)
    faults = verify()
    assert {f"Event {pk} is gone; the log has it." for pk in chain} <= set(faults)


def test_a_log_that_is_changed_cut_off_or_written_anew_is_named(loan, settings):
    head = head_of_log()
    told = {head.number: head.mac}
    record_part(Part.objects.first(), Verb.NOTED, "Looked at.")
    assert verify(told) == []
    line = LogLine.objects.filter(table="rentals.loan").last()
    with transaction.atomic():
        LogLine.objects.filter(pk=line.pk).update(digest="0" * 64)
        assert f"Line {line.pk} of the log was changed, or what stood before it." in verify()
        transaction.set_rollback(True)
    with transaction.atomic():
        LogLine.objects.filter(pk=line.pk).delete()
        assert f"The log lacks line {line.pk} before line {line.pk + 1}." in verify()
        transaction.set_rollback(True)
    with transaction.atomic():
        # Everything from the head on taken out, and the head set back: only who was told knows.
        _delete_events([Event.objects.latest("pk").pk])
        LogLine.objects.filter(position__gte=head.number).delete()
        before = LogLine.objects.latest("position")
        LogHead.objects.update(number=before.pk, mac=before.mac)
        where = f"line {head.number} was told, it ends at {before.pk}."
        assert f"The end of the log was cut off: {where}" in verify(told)
        transaction.set_rollback(True)
    LogLine.objects.all().delete()
    LogHead.objects.all().delete()
    take_on_key()
    assert any("was written anew" in fault or "cut off" in fault for fault in verify(told))


def test_another_key_says_so_until_the_owner_takes_it_on(loan, settings):
    settings.KITDESK_LOG_KEY = "one that somebody made up"
    assert OTHER_KEY in verify()
    record_part(Part.objects.first(), Verb.NOTED, "Looked at.")
    assert verify() == [OTHER_KEY]
    take_on_key()
    assert verify() == []
    Kit.objects.update(note="by hand")
    assert verify() == [f"Kit {loan.kit_id} is not as the log has it."]
    start = LogLine.objects.get(pk=1)
    LogLine.objects.filter(pk=1).update(digest="f" * 16)
    assert start.table == "log.start"
    settings.KITDESK_LOG_KEY = "another one"
    assert OTHER_KEY in verify()


def test_a_photo_whose_file_was_changed_or_lost_is_named(loan):
    line = loan.packing_lines.first()
    add_pictures(line, b"a dent")
    [photo] = line.photos.all()
    assert verify() == []
    Path(photo.file.path).write_bytes(b"no dent")
    assert verify() == [f"Line photo {photo.pk} has a file that was changed."]
    Path(photo.file.path).unlink()
    assert verify() == [f"Line photo {photo.pk} has lost its file."]
    remove_photo(photo)
    assert verify() == []


@pytest.mark.django_db(transaction=True)
def test_a_capture_that_is_claimed_refused_or_given_up_is_as_the_log_has_it():
    capture = store_upload([ContentFile(b"1,2", "still.csv")], kit=complete_kit()).captures.get()
    for attempts in (1, LEASE.tries):
        with rentals.transaction.atomic():
            Capture.objects.update(status="waiting", attempts=attempts - 1)
        assert claim([capture.pk])
        assert verify() == []
        Capture.objects.update(claimed_at=timezone.now() - 2 * LEASE.duration)
        release_expired()
        assert verify() == []
    assert Capture.objects.get().status == "unreadable"


def _delete_events(numbers: list[int]) -> None:
    with connection.cursor() as cursor:
        for number in numbers:
            cursor.execute("DELETE FROM rentals_event WHERE id = %s", [number])
