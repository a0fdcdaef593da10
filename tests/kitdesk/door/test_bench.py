"""A computer at the bench sends captures and reads what became of them."""

from __future__ import annotations

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from readiness.models import Capture, Upload
from readiness.signal.result import Report
from rentals.models import Event
from tests.factories import complete_kit
from tests.kitdesk.door.calls import Program
from tests.readiness.captures import capture_bytes, kit_files

pytestmark = pytest.mark.django_db

CONTRACT = set(Report("", False, None, "", None, None).to_json())


def test_a_kit_is_sent_read_and_cleared_in_the_name_of_the_token():
    kit, program = complete_kit(cleared=False), Program("Bench computer")
    taken = [
        program.send(f"captures?name={file.name}", file.read()) for file in kit_files(kit.code)
    ]
    assert [answer.status_code for answer in taken] == [202] * 3
    first = taken[0].json()
    assert first["address"] == f"/api/v1/captures/{first['id']}" and first["new"] is True
    state = program.get(f"captures/{first['id']}").json()
    assert (state["state"], state["kit"], state["test"]) == ("scored", kit.code, "still")
    assert state["verdict"] == "fit"
    score = program.get(f"captures/{first['id']}/score").json()
    assert set(score) == CONTRACT
    assert (score["kit"], score["test"], score["verdict"]) == (kit.code, "still", "fit")
    assert score["channels"][0]["samples"] > 0 and score["measurements"]
    readiness = program.get(f"kits/{kit.code}/readiness").json()
    assert (readiness["verdict"], readiness["cleared"]) == ("fit", True)
    assert {row["verdict"] for row in readiness["tests"]} == {"fit"}
    [bench_round] = program.get(f"kits/{kit.code}/rounds").json()["items"]
    assert bench_round["current"] and bench_round["verdict"] == "fit"
    assert {upload.by.username for upload in Upload.objects.all()} == {"token Bench computer"}
    assert Event.objects.filter(actor_name="token Bench computer").exists()


def test_the_same_key_and_the_same_bytes_make_one_capture():
    kit, program = complete_kit(cleared=False), Program()
    data = capture_bytes("flex", drop=("kit", "test"))
    place = f"captures?kit={kit.code}&test=flex"
    once = {"Idempotency-Key": "file-1"}
    first, again = (program.send(place, data, **once) for _ in range(2))
    assert (first.status_code, again.status_code) == (202, 202)
    assert first.json() == again.json()
    known = program.send(place, data)
    assert known.status_code == 200
    assert known.json() == first.json() | {"new": False}
    other = program.send(place, data + b"\n", **once)
    assert other.status_code == 422
    assert other.json()["errors"][0]["pointer"] == "/header/Idempotency-Key"
    capture = Capture.objects.get()
    assert (capture.kit, capture.test, capture.status) == (kit, "flex", "scored")
    # Another program's keys are its own.
    assert Program("Other").send(place, data, **once).status_code == 200


def test_a_form_with_a_file_and_what_is_refused():
    kit, program = complete_kit(cleared=False), Program()
    file = SimpleUploadedFile(f"{kit.code} still.csv", capture_bytes("still"))
    form = program.client.post("/api/v1/captures", {"file": file}, headers=program.headers())
    assert form.status_code == 202 and form.json()["name"] == f"{kit.code} still.csv"
    two = [SimpleUploadedFile(f"{n}.csv", b"1") for n in "ab"]
    refused = {
        "two": program.client.post("/api/v1/captures", {"f": two}, headers=program.headers()),
        "empty": program.send("captures", b""),
        "kind": program.send("captures", b"<x/>", "text/xml"),
        "kit": program.send("captures?kit=K0001A", b"1"),
        "test": program.send("captures?test=none", b"1"),
        "large": program.send("captures", b"1" * (34 * 2**20 + 1)),
        "form": program.send("captures", b"--x", "multipart/form-data; boundary=y"),
        "broken form": program.send("captures", b"--x", "multipart/form-data"),
    }
    statuses = {name: answer.status_code for name, answer in refused.items()}
    assert statuses == {
        "two": 422,
        "empty": 422,
        "kind": 415,
        "kit": 422,
        "test": 422,
        "large": 413,
        "form": 422,
        "broken form": 400,
    }
    assert refused["kit"].json()["errors"][0]["pointer"] == "/query/kit"
    assert all(answer.json()["detail"] for answer in refused.values())
    assert Capture.objects.count() == 1


def test_a_capture_that_asks_or_waits_says_so():
    program = Program()
    answer = program.send("captures?name=a.csv", capture_bytes("still", drop=("kit",)))
    pk = answer.json()["id"]
    state = program.get(f"captures/{pk}").json()
    assert state["state"] == "asking" and "which kit" in state["sentence"]
    score = program.get(f"captures/{pk}/score").json()
    assert set(score) == CONTRACT and score["readable"] is False
    assert score["refusal"] == state["sentence"]
    Capture.objects.update(status="scoring", claimed_at=timezone.now())
    waiting = program.get(f"captures/{pk}/score")
    assert waiting.status_code == 409 and waiting.headers["Retry-After"] == "5"
    assert program.get("captures/999").status_code == 404
    assert json.loads(program.get("kits/K0001A/readiness").content)["status"] == 404
