"""Captures and photos through the whole desk, kept in a folder and in a store alike."""

import zipfile
from datetime import timedelta

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from kitdesk.backups import database_copy
from kitdesk.backups.problems import NotPossible
from kitdesk.backups.whole_desk import restore_backup, write_backup
from kitdesk.stray_files import clear_stray_files
from readiness.actions.rescore import rescore
from readiness.actions.score import score_one
from readiness.actions.scoring_tasks import requeue_expired, score_student_file
from readiness.actions.student_captures import take_student_capture
from readiness.models import Capture, StudentCapture, Upload
from rentals import transaction
from rentals.actions.dispatch import dispatch
from rentals.actions.erase import erase
from rentals.actions.guide import begin_help
from rentals.actions.receive import write_off
from rentals.models import LinePhoto
from rentals.verify import verify
from tests.factories import complete_kit, packed_loan
from tests.kitdesk.door.calls import Program
from tests.readiness.captures import capture_bytes, capture_file, kit_files
from tests.rentals.guide import lent
from tests.rentals.photos import add_pictures, sent
from tests.rentals.traces import finished_loan

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]
AWAY = "s3://kits?region=eu-1&timeout=0.2&endpoint=http://127.0.0.1:9"
IN_WORDS = "lie in a store that does not answer just now"


def drop(client: Client, files: list) -> None:
    return client.post(reverse("readiness:bench_upload"), {"files": files})


def photo(shade: int = 1):
    return sent(Image.new("RGB", (300, 200), (200, 170, shade)))


def content(answer) -> bytes:
    return b"".join(answer.streaming_content)


@pytest.fixture
def short():
    loan = write_off(dispatch(packed_loan().kit).kit, reason="It was stolen.")
    return loan.shortfalls.first()


def test_captures_are_dropped_scored_drawn_given_back_and_compared(kept_files, signed_in):
    kit = complete_kit(cleared=False)
    data = capture_bytes("still", kit=kit.code)
    drop(signed_in, [capture_file("still.csv", data)])
    capture = kit.captures.get(status="scored")
    assert signed_in.get(capture.get_absolute_url()).content.count(b"<svg") >= 2
    address = reverse("readiness:capture_file", args=[capture.pk])
    answer = signed_in.get(address)
    assert answer["Cache-Control"] == "no-store" and capture.name in answer["Content-Disposition"]
    assert content(answer) == data
    assert rescore(Capture.objects.all()).changed == []
    assert verify() == []
    kept_files.put(capture.file.name, ContentFile(b"t_s,emg"))
    assert verify() == [f"Capture {capture.pk} has a file that was changed."]
    kept_files.delete(capture.file.name)
    assert verify() == [f"Capture {capture.pk} has lost its file."]
    gone = signed_in.get(address)
    assert gone.status_code == 404 and "gone from the desk" in gone.content.decode()


def test_photos_come_and_go_with_their_rows(
    kept_files, signed_in, short, django_capture_on_commit_callbacks
):
    address = reverse("rentals:shortfall_photos", args=[short.pk])
    signed_in.post(address, {"photos": [photo()]})
    kept = LinePhoto.objects.get()
    assert list(kept_files.names()) == [kept.file.name]
    shown = signed_in.get(reverse("rentals:receive_photo", args=[kept.pk]))
    assert content(shown).startswith(b"\xff\xd8")
    with pytest.raises(ZeroDivisionError), transaction.atomic():
        add_pictures(short.packing_line, b"one more")
        assert len(list(kept_files.names())) == 2
        raise ZeroDivisionError
    assert list(kept_files.names()) == [kept.file.name]
    with django_capture_on_commit_callbacks(execute=True):
        signed_in.post(reverse("rentals:photo_remove", args=[kept.pk]))
    assert list(kept_files.names()) == []


def test_an_erasure_takes_files_along_and_writes_over_words_in_those_that_stay(
    store, keep_files_at, settings
):
    settings.EMAIL_BACKEND = "kitdesk.mail_files.EmlBackend"
    keep_files_at(store.address())
    loan = finished_loan()
    before = set(default_storage.names())
    erase(loan.enrolment.student)
    left = set(default_storage.names())
    assert LinePhoto.objects.count() == 0 and left < before
    assert not any(name.startswith("damage/") for name in left)
    for name in left:
        with default_storage.open(name) as file:
            assert b"xxx" in file.read()
    assert verify() == []


def test_a_backup_holds_the_files_wherever_they_lie(kept_files, tmp_path, monkeypatch):
    # No copy of a database can be made inside a test's transaction.
    monkeypatch.setattr(database_copy, "copy_database", lambda target: target.touch())
    data = capture_bytes("worn")
    capture = take_student_capture(begin_help(lent(), "hum"), capture_file("a.csv", data))
    assert StudentCapture.objects.get().status == "scored"
    assert write_backup(tmp_path / "desk.zip").files == 1
    with zipfile.ZipFile(tmp_path / "desk.zip") as archive:
        assert archive.read(f"media/{capture.file.name}") == data


def test_a_backup_is_put_into_no_store_that_holds_files_or_is_away(store, keep_files_at, tmp_path):
    keep_files_at(store.address())
    default_storage.save("damage/a.jpg", ContentFile(b"1"))
    with pytest.raises(NotPossible, match="KITDESK_FILES, where it is set, to a new place"):
        restore_backup(tmp_path / "desk.zip")
    keep_files_at(AWAY)
    with pytest.raises(NotPossible, match="does not answer"):
        restore_backup(tmp_path / "desk.zip")


def test_a_store_that_is_away_changes_nothing_and_is_told(
    store, keep_files_at, signed_in, short, tmp_path, monkeypatch
):
    keep_files_at(store.address())
    signed_in.post(reverse("rentals:shortfall_photos", args=[short.pk]), {"photos": [photo()]})
    kept = LinePhoto.objects.get()
    keep_files_at(AWAY)
    uploads = Upload.objects.count()
    answer = drop(signed_in, kit_files(complete_kit().code))
    assert answer.status_code == 422 and IN_WORDS in answer.content.decode()
    assert (Upload.objects.count(), Capture.objects.count()) == (uploads, 0)
    pushed = Program().send("captures?name=a.csv", b"1,2\n")
    assert pushed.status_code == 503 and IN_WORDS in pushed.json()["detail"]
    shown = signed_in.get(reverse("rentals:receive_photo", args=[kept.pk]))
    assert shown.status_code == 503 and IN_WORDS in shown.content.decode()
    monkeypatch.setattr(database_copy, "copy_database", lambda target: target.touch())
    with pytest.raises(NotPossible, match="at http://127.0.0.1:9 does not answer"):
        write_backup(tmp_path / "desk.zip")
    assert list(tmp_path.glob("*.zip")) == []


def test_a_photo_removed_while_the_store_is_away_leaves_it_a_day_later(
    store, keep_files_at, signed_in, short, django_capture_on_commit_callbacks
):
    place = store.address()
    keep_files_at(place)
    signed_in.post(reverse("rentals:shortfall_photos", args=[short.pk]), {"photos": [photo()]})
    kept = LinePhoto.objects.get()
    keep_files_at(AWAY)
    with django_capture_on_commit_callbacks(execute=True):
        removed = signed_in.post(reverse("rentals:photo_remove", args=[kept.pk]))
    assert removed.status_code == 302 and not LinePhoto.objects.exists()
    keep_files_at(place)
    assert kept.file.name in default_storage.names()
    assert clear_stray_files(timezone.now() + timedelta(hours=25)) == 1
    assert kept.file.name not in default_storage.names()


def test_captures_wait_for_a_store_that_is_away(store, keep_files_at, signed_in):
    place = store.address()
    keep_files_at(place)
    kit = complete_kit(cleared=False)
    drop(signed_in, [capture_file("still.csv", capture_bytes("still", kit=kit.code))])
    data = capture_bytes("worn")
    of_student = take_student_capture(begin_help(lent(), "hum"), capture_file("b.csv", data))
    capture = Capture.objects.get()
    again = {"status": "waiting", "attempts": 0}
    for model in (Capture, StudentCapture):
        model.objects.update(**again)
    keep_files_at(AWAY)
    assert score_one(capture.pk) == "scoring"
    assert score_student_file.call(of_student.pk) == "scoring"
    Capture.objects.update(status="scored")
    assert "does not answer" in signed_in.get(capture.get_absolute_url()).content.decode()
    assert "could not be compared" in " ".join(verify())
    Capture.objects.update(status="scoring")
    assert requeue_expired() == 0
    keep_files_at(place)
    for model in (Capture, StudentCapture):
        waiting = model.objects.get()
        assert waiting.attempts == 0
        model.objects.update(claimed_at=waiting.claimed_at - timedelta(seconds=31))
    assert requeue_expired()
    for model in (Capture, StudentCapture):
        assert model.objects.get().status == "scored"
