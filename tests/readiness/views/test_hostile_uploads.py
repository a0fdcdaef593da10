"""Hostile drops: a clear sentence for each file, never a server error, and the good ones of the
same drop are kept.
"""

import io
import zipfile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from readiness.models import Capture, TurnedAway, Upload
from tests.factories import complete_kit
from tests.readiness.captures import capture_bytes

pytestmark = pytest.mark.django_db
MIB = 1024 * 1024


@pytest.fixture
def kit():
    return complete_kit(cleared=False)


@pytest.fixture
def drop(signed_in, kit):
    """Drops files beside one good capture; gives the answer's page and what was made of the
    others.
    """

    def dropped(**files: bytes):
        good = SimpleUploadedFile(f"{kit.code} still.csv", capture_bytes("still", kit=kit.code))
        sent = [SimpleUploadedFile(name, data) for name, data in files.items()]
        answer = signed_in.post(
            reverse("readiness:bench_upload"), {"files": [*sent, good]}, follow=True
        )
        assert answer.status_code == 200
        assert Capture.objects.get(name=good.name).status == "scored"
        return answer.content.decode()

    return dropped


def zipped() -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr("capture.csv", capture_bytes("still"))
    return buffer.getvalue()


def test_an_empty_file(drop):
    assert "The file is empty" in drop(**{"empty.csv": b""})
    assert TurnedAway.objects.get().name == "empty.csv"


def test_a_file_of_33_mib(drop):
    html = drop(**{"big.csv": b"0" * (33 * MIB)})
    assert "The file has 33.0 MiB; at most 32 MiB are taken." in html
    assert not Capture.objects.filter(name="big.csv").exists()


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("zip.csv", zipped()),
        ("picture.edf", b"\x89PNG\r\n\x1a\n" + bytes(2000)),
        ("zeros.csv", bytes(5000)),
        ("words.txt", b"The quick brown fox\n" * 300),
        ("noise.bdf", bytes(range(256)) * 40),
        ("short.csv", b"# test: still\n# rate_hz: 1000\n# unit: uV\nemg\n1\n2\n3\n"),
        ("header.edf", b"0       " + b" " * 248),
    ],
)
def test_files_that_are_no_captures_are_said_in_words(drop, name, data):
    html = drop(**{name: data})
    capture = Capture.objects.get(name=name)
    assert capture.status == "unreadable"
    assert len(capture.refusal) > 20
    assert "Traceback" not in capture.refusal
    assert "not readable" in html


def test_two_hundred_files_at_once(drop):
    drop(**{f"junk {n}.csv": f"junk {n}\n".encode() * 5 for n in range(199)})
    assert Capture.objects.filter(status="unreadable").count() == 199
    assert Capture.objects.filter(status="scored").count() == 1


def test_names_that_try_to_get_out_or_to_script(drop):
    html = drop(**{"..\\..\\<script>alert(1)</script>.csv": b"junk"})
    assert "<script>alert" not in html
    stored = Capture.objects.get(status="unreadable").file.name
    assert stored.startswith("captures/")
    assert ".." not in stored


def test_no_file_chosen_is_said_beside_the_drop_zone(signed_in, db):
    answer = signed_in.post(reverse("readiness:bench_upload"), {})
    assert answer.status_code == 422
    assert "Choose at least one capture file." in answer.content.decode()
    assert not Upload.objects.exists()


def test_text_in_place_of_a_file_is_said(signed_in, db):
    answer = signed_in.post(reverse("readiness:bench_upload"), {"files": "not a file"})
    assert answer.status_code == 422


def test_an_unknown_kit_of_the_page_changes_nothing(signed_in, kit):
    good = SimpleUploadedFile("flex.csv", capture_bytes("flex", drop=("kit",)))
    signed_in.post(reverse("readiness:bench_upload"), {"files": [good], "kit": "<b>"})
    assert Capture.objects.get().missing == "kit"


def test_a_drop_sent_twice_is_kept_once(signed_in, kit):
    key = "0b0f5f7e-9a0c-4a75-8d10-5e1f4fd3a7c1"
    for _ in range(2):
        file = SimpleUploadedFile("a.csv", capture_bytes("still", kit=kit.code))
        answer = signed_in.post(
            reverse("readiness:bench_upload"), {"files": [file], "form_key": key}
        )
        assert answer.status_code == 302
    assert Upload.objects.count() == 1
