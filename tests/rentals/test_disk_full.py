"""A full disk is a sentence, and leaves nothing half done."""

from __future__ import annotations

import errno
import io
import uuid
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.mail import EmailMessage
from django.db.utils import OperationalError
from django.test import Client
from django.urls import reverse

from kitdesk.backups import daily, database_copy
from kitdesk.backups.problems import NotPossible
from kitdesk.mail_files import EmlBackend
from kitdesk.whole_files import WholeFileStorage
from readiness.models import Capture, Upload
from rentals.disk_full import is_disk_full
from tests.factories import complete_kit

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]
FULL = OSError(errno.ENOSPC, "No space left on device")


@pytest.fixture
def disk(monkeypatch):
    """A disk that takes what `room` says and is full after that."""

    class Disk:
        room = 0

    class Bounded(io.FileIO):
        def write(self, data: bytes) -> int:
            if len(data) > Disk.room:
                super().write(data[: Disk.room])
                raise FULL
            Disk.room -= len(data)
            return super().write(data)

    monkeypatch.setattr("django.core.files.storage.filesystem.os.fdopen", Bounded)
    return Disk


def test_a_full_disk_is_told_from_other_faults():
    assert is_disk_full(FULL)
    assert is_disk_full(OperationalError("database or disk is full"))
    try:
        try:
            raise FULL
        except OSError as problem:
            raise ValueError from problem
    except ValueError as problem:
        assert is_disk_full(problem)
    assert not is_disk_full(OSError(errno.EACCES, "not allowed"))
    assert not is_disk_full(None)


def test_half_a_file_does_not_stay(disk, settings, tmp_path: Path):
    storage = WholeFileStorage(location=tmp_path)
    disk.room = 3
    with pytest.raises(OSError, match="No space left"):
        storage.save("capture.csv", ContentFile(b"0123456789"))
    assert list(tmp_path.iterdir()) == []
    disk.room = 100
    assert storage.save("capture.csv", ContentFile(b"0123456789")) == "capture.csv"


def test_a_drop_of_files_is_kept_whole_or_not_at_all_and_said(disk, settings, signed_in: Client):
    kit = complete_kit()
    disk.room = 20
    files = [SimpleUploadedFile(f"{n}.csv", str(n).encode() * 15) for n in (1, 2)]
    sent = {"files": files, "form_key": str(uuid.uuid4()), "kit": kit.code}
    answer = signed_in.post(reverse("readiness:bench_upload"), sent)
    assert answer.status_code == 422
    assert "The disk of this desk is full" in answer.content.decode()
    assert not Capture.objects.exists() and not Upload.objects.exists()
    assert [path for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file()] == []


def test_what_no_form_foresaw_has_its_own_page(monkeypatch, signed_in: Client):
    def full(*_: object) -> None:
        raise FULL

    monkeypatch.setattr("rentals.views.desk.work_today", full)
    signed_in.raise_request_exception = False
    answer = signed_in.get("/")
    assert answer.status_code == 507
    assert "The disk is full" in answer.content.decode()


def test_the_outbox_keeps_no_half_mail(monkeypatch, settings):
    def cut_short(place: Path, content: bytes) -> None:
        place.touch()
        raise FULL

    monkeypatch.setattr(Path, "write_bytes", cut_short)
    with pytest.raises(OSError, match="No space left"):
        EmlBackend().send_messages([EmailMessage("Kit", "On its way", to=["ben@desk.example"])])
    assert list(Path(settings.KITDESK_OUTBOX).iterdir()) == []


def test_yesterdays_backup_stays_where_todays_finds_no_room(monkeypatch, settings, tmp_path: Path):
    settings.KITDESK_BACKUPS = tmp_path
    yesterday = tmp_path / "kitdesk-2026-01-01.zip"
    yesterday.write_bytes(b"whole")

    def full(target: Path) -> None:
        raise NotPossible("database or disk is full")

    monkeypatch.setattr(database_copy, "copy_database", full)
    assert daily.keep_daily_backup() is None
    assert yesterday.read_bytes() == b"whole"
    assert "disk is full" in daily.standing().failure
