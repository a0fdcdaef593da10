"""Whatever brings files stores their bytes before its transaction: nobody's saving waits for a disk
or a store, and what is not kept in the end lies nowhere.
"""

from __future__ import annotations

from contextlib import suppress

import pytest
from django.core.files.base import File
from django.core.files.storage import storages
from django.core.files.uploadedfile import InMemoryUploadedFile
from django.db import connection
from django.test import Client
from django.urls import reverse
from PIL import Image

from kitdesk.file_move import names_in_rows
from rentals import limited_process
from rentals.actions.dispatch import dispatch
from rentals.actions.guide import begin_help
from rentals.actions.receive import arrive, write_off
from rentals.models import LinePhoto
from rentals.selectors.student_links import token_of_link
from tests.factories import complete_kit, packed_loan
from tests.kitdesk.door.calls import Program
from tests.readiness.captures import capture_bytes, capture_file, kit_files
from tests.rentals.guide import lent
from tests.rentals.photos import sent

pytestmark = [pytest.mark.any_database, pytest.mark.usefixtures("clean_cache")]


def _photo():
    return sent(Image.new("RGB", (60, 40), (200, 170, 1)))


def _bench_drop(client: Client):
    address = reverse("readiness:bench_upload")
    files = kit_files(complete_kit(cleared=False).code)
    return lambda: client.post(address, {"files": files})


def _round_drop(client: Client):
    address = reverse("readiness:round_drop", args=[complete_kit(cleared=False).code])
    file = capture_file("a.csv", capture_bytes("still", drop=("kit", "test")))
    return lambda: client.post(address, {"files": [file]})


def _program(client: Client):
    program = Program()
    return lambda: program.send("captures?name=a.csv", capture_bytes("still"))


def _student(client: Client):
    visit = begin_help(lent(), "hum")
    token = token_of_link(visit.loan.student_links.get(revoked_at=None))
    address = reverse("student_bench:captures", args=[token, visit.pk])
    return lambda: Client().post(address, {"file": capture_file("a.csv", capture_bytes("worn"))})


def _shortfall_photo(client: Client):
    loan = write_off(dispatch(packed_loan().kit).kit, reason="It was stolen.")
    address = reverse("rentals:shortfall_photos", args=[loan.shortfalls.first().pk])
    return lambda: client.post(address, {"photos": [_photo()]})


def _line_photo(client: Client):
    check = arrive(dispatch(packed_loan().kit).kit)
    line = check.lines.get(packing_line__part_kind="charger")
    address = reverse("rentals:receive_line", args=[check.loan.kit.code, line.pk])
    facts = {f"line{line.pk}-outcome": "damaged", f"line{line.pk}-note": "A dent."}
    return lambda: client.post(address, facts | {f"line{line.pk}-photo": _photo()})


WAYS = [_bench_drop, _round_drop, _program, _student, _shortfall_photo, _line_photo]


@pytest.fixture
def work_in_transactions(monkeypatch) -> dict[bool, set[str]]:
    """What was done with files, by whether that was inside of a transaction."""
    done: dict[bool, set[str]] = {True: set(), False: set()}

    def watched(owner: object, name: str) -> None:
        real = getattr(owner, name)

        def noted(*args, **facts):
            done[connection.in_atomic_block].add(name)
            return real(*args, **facts)

        monkeypatch.setattr(owner, name, noted)

    storage = type(storages["default"])
    for name in ("_save", "_open", "put", "delete", "exists"):
        watched(storage, name)
    for kind in (File, InMemoryUploadedFile):
        watched(kind, "chunks")
    watched(limited_process, "_read")
    return done


@pytest.fixture
def queue(settings, transactional_db):
    settings.TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}


@pytest.mark.parametrize("way", WAYS)
def test_no_file_is_touched_inside_a_transaction(queue, signed_in, request, way):
    send = way(signed_in)
    done = request.getfixturevalue("work_in_transactions")
    assert send().status_code in (202, 302)
    assert done[True] == set()
    assert {"put", "chunks"} <= done[False]
    names = list(names_in_rows())
    assert names and sorted(storages["default"].names()) == sorted(names)


def test_the_file_of_a_removed_photo_goes_after_the_act(queue, signed_in, request, monkeypatch):
    assert _shortfall_photo(signed_in)().status_code == 302
    photo = LinePhoto.objects.get()
    address = reverse("rentals:photo_remove", args=[photo.pk])
    done = request.getfixturevalue("work_in_transactions")
    with monkeypatch.context() as once, suppress(ZeroDivisionError):
        once.setattr("rentals.transaction.seal", _broken)
        signed_in.post(address)
    assert LinePhoto.objects.exists() and storages["default"].exists(photo.file.name)
    assert signed_in.post(address).status_code == 302
    assert done[True] == set()
    assert not LinePhoto.objects.exists() and list(storages["default"].names()) == []


def _broken(notes: object) -> None:
    raise ZeroDivisionError("the power went")


@pytest.mark.parametrize("way", [_bench_drop, _student, _line_photo])
def test_bytes_of_an_act_that_fails_are_taken_away_after_it(
    queue, signed_in, request, way, monkeypatch
):
    send = way(signed_in)
    done = request.getfixturevalue("work_in_transactions")
    monkeypatch.setattr("rentals.transaction.seal", _broken)
    signed_in.raise_request_exception = False
    with suppress(ZeroDivisionError):
        assert send().status_code == 500
    assert done[True] == set()
    assert {"put", "delete"} <= done[False]
    assert list(names_in_rows()) == []
    assert list(storages["default"].names()) == []
