"""A flex whose amplifier hides a cable's movement asks the operator, whose word stays."""

import numpy as np
import pytest
from django.urls import reverse

from readiness.actions.answer import confirm_moved
from readiness.actions.plan import change_plan
from readiness.actions.upload import store_upload
from readiness.models import BenchPlan, Capture
from readiness.signal.simulator.captures import Setup, csv_bytes, simulate
from rentals.errors import Refused
from rentals.models import Event
from tests.factories import complete_kit
from tests.readiness.captures import capture_bytes, capture_file

pytestmark = pytest.mark.django_db

HIDES = Setup(high_pass_hz=20.0, movement_uv=6.0, movement_hz=1.5, emf_v=2.75)


REASON = "The room is a quiet one."


def dropped(data: bytes) -> Capture:
    return store_upload([capture_file("a flex.csv", data)]).captures.get()


def hidden_flex(code: str) -> bytes:
    return csv_bytes(simulate("flex", HIDES, (), np.random.default_rng(6), kit=code))


def still_as_flex(code: str) -> bytes:
    return capture_bytes("still", kit=code).replace(b"# test: still", b"# test: flex")


def test_the_tick_is_asked_taken_kept_with_the_verdict_and_recorded(signed_in, owner):
    kit = complete_kit(cleared=False)
    capture = dropped(hidden_flex(kit.code))
    assert capture.verdicts.get().verdict == "retest"
    page = capture.get_absolute_url()
    shown = signed_in.get(page).content.decode()
    assert "I moved each lead through its window" in shown
    post = reverse("readiness:capture_moved", args=[capture.pk])
    refused = signed_in.post(post, {})
    assert "Tick it if you did; else record flex again." in refused.content.decode()
    taken = signed_in.post(post, {"moved": "on"}, follow=True)
    assert "Confirmed: it stays with the verdict." in taken.content.decode()
    verdict = capture.verdicts.get(current=True)
    assert verdict.verdict == "fit"
    texts = [item["text"] for item in verdict.result["findings"] if item["code"] == "no_movement"]
    assert texts and all("The operator confirms" in text for text in texts)
    event = Event.objects.get(kit=kit, text__startswith="Capture a flex.csv: the operator")
    assert event.actor == owner
    after = signed_in.get(page).content.decode()
    assert "The operator confirms" in after
    assert "I moved each lead through its window" not in after
    capture.refresh_from_db()
    with pytest.raises(Refused, match="does not ask whether the leads were moved"):
        confirm_moved(capture)


def test_no_word_helps_where_movement_would_show(signed_in):
    kit = complete_kit(cleared=False)
    capture = dropped(still_as_flex(kit.code))
    assert capture.verdicts.get().verdict == "retest"
    shown = signed_in.get(capture.get_absolute_url()).content.decode()
    assert "No movement seen in any lead" in shown
    assert "I moved each lead" not in shown
    with pytest.raises(Refused, match="record flex again"):
        confirm_moved(capture)
    assert "moved" not in Capture.objects.get().declared
    # Once the kit type says that its amplifier hides movement, the operator is asked.
    change_plan(kit.kit_type, {"high_pass_hz": 10.0}, reason=REASON)
    assert BenchPlan.of(kit.kit_type).high_pass_hz == 10.0
    capture.refresh_from_db()
    confirm_moved(capture)
    assert Capture.objects.get().verdicts.get(current=True).verdict == "fit"
