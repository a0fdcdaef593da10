"""Files of other make on the pages of the bench: asked once, answered, scored."""

from __future__ import annotations

import io

import numpy as np
import pytest
from django.urls import reverse
from scipy.io import wavfile

from readiness.actions.upload import store_upload
from readiness.models import BenchPlan
from readiness.signal.readers import write_csv
from tests.factories import complete_kit
from tests.readiness.captures import capture_file
from tests.readiness.signal.made import model_capture
from tests.readiness.signal.spoiled import spoil

pytestmark = pytest.mark.django_db


@pytest.fixture
def kit():
    return complete_kit(cleared=False)


def page(client, name, *args):
    return client.get(reverse(f"readiness:{name}", args=args)).content.decode()


def megavolts(kit, seed):
    """A still whose column is called MV and holds millivolts."""
    x = np.random.default_rng(seed).normal(0.0, 1.0, 10_240) / 1e3
    head = f"# kit: {kit.code}\n# test: still\n# rate_hz: 1024\n# battery_v: 2.9\nemg (MV)\n"
    return (head + "\n".join(f"{value:.7f}" for value in x)).encode()


def test_megavolts_are_asked_about_once_and_the_answer_is_taken(signed_in, kit):
    capture = store_upload([capture_file("a.csv", megavolts(kit, 1))]).captures.get()
    assert (capture.status, capture.missing) == ("asking", "unit")
    assert "megavolts by its letters and hardly meant" in page(signed_in, "capture", capture.pk)
    answer = {f"c{capture.pk}-unit": "mV"}
    signed_in.post(reverse("readiness:capture_answer", args=[capture.pk]), answer)
    capture.refresh_from_db()
    verdict = capture.verdicts.get(current=True)
    assert (capture.status, capture.missing, verdict.verdict) == ("scored", "", "fit")
    assert verdict.noise_uv == pytest.approx(0.87, abs=0.03)


def test_megavolts_of_a_layout_are_answered_once_for_all_its_files(signed_in, kit):
    upload = store_upload([capture_file(f"{n}.csv", megavolts(kit, n)) for n in (2, 3)])
    first = upload.captures.first()
    facts = {"kit_type": kit.kit_type.pk, "role_0": "emg", "unit_0": "mV"}
    signed_in.post(reverse("readiness:columns", args=[first.pk]), facts)
    later = store_upload([capture_file("4.csv", megavolts(kit, 4))]).captures.get()
    assert {*upload.captures.values_list("status", flat=True), later.status} == {"scored"}


def test_a_sound_card_is_asked_for_its_scale_once(signed_in, kit):
    stream = io.BytesIO()
    noise = np.random.default_rng(5).normal(0.0, 45e-3 * np.sqrt(24_000), 480_000)
    wavfile.write(stream, 48_000, np.rint(noise / 5000.0 * 2**15).astype(np.int16))
    file = capture_file(f"{kit.code} still.wav", stream.getvalue())
    capture = store_upload([file]).captures.get()
    assert capture.missing == "scale"
    facts = {"kit_type": kit.kit_type.pk, "role_0": "emg", "unit_0": "", "full_scale_mv": "5"}
    signed_in.post(reverse("readiness:columns", args=[capture.pk]), facts)
    shown = page(signed_in, "capture", capture.pk)
    assert "Recorded at this rate, decimated for the bench" in shown and "48" in shown


def offered(kit, samples, rate):
    data = write_csv(samples, rate, test="still", kit=kit.code, battery_v=2.9)
    return store_upload([capture_file("a.csv", data)]).captures.get()


def findings(capture):
    verdict = capture.verdicts.get(current=True)
    return verdict.verdict, {item["code"] for item in verdict.result["findings"]}


def change_plan(client, kit, **facts):
    plan = BenchPlan.of(kit.kit_type)
    sent = {"still": "on", "flex": "on", "lift": "on", "noise_limit_uv": plan.noise_limit_uv}
    sent["reason"] = "As the maker states it."
    answer = client.post(reverse("readiness:plan", args=[kit.kit_type.pk]), {**sent, **facts})
    assert answer.status_code == 302


def test_a_narrow_amplifier_is_stated_in_the_plan_and_not_blamed(signed_in, kit):
    narrow = model_capture("still", seed=3, low_pass_hz=150.0, low_pass_order=4)
    capture = offered(kit, narrow.emg.samples, narrow.rate_hz)
    assert findings(capture) == ("retest", {"not_raw"})
    change_plan(signed_in, kit, low_pass_hz="150")
    assert findings(capture) == ("fit", set())


def test_a_notch_is_the_amplifiers_or_a_programs_as_the_plan_says(signed_in, kit):
    made = model_capture("still", seed=3)
    capture = offered(kit, spoil("notch", made.emg.samples, made.rate_hz), made.rate_hz)
    assert findings(capture) == ("fit", {"not_raw"})
    change_plan(signed_in, kit, notch="false")
    assert findings(capture) == ("retest", {"not_raw"})
    change_plan(signed_in, kit, notch="true")
    assert findings(capture) == ("fit", set())
