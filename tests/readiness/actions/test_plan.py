"""Test plans, limits with their reasons, own limits of amplifiers, column maps."""

import io
import wave

import numpy as np
import pytest
from django.urls import reverse

from readiness.actions.plan import accept_noise_limit, change_plan
from readiness.actions.upload import store_upload
from readiness.models import BenchPlan, Verdict
from readiness.selectors.limits import changes_of_plan
from readiness.selectors.proposals import proposals_for
from rentals.errors import Refused
from rentals.verify import verify
from tests.factories import KitTypeFactory, UserFactory, complete_kit
from tests.readiness.captures import capture_bytes, capture_file, kit_files
from tests.readiness.drops import stills

pytestmark = pytest.mark.django_db
REASON = "The room is a quiet one."
DEFAULTS = {"still": "on", "flex": "on", "lift": "on", "noise_limit_uv": "2.0", "reason": REASON}


@pytest.fixture
def kit():
    return complete_kit(cleared=False)


def test_the_default_plan_is_all_tests_on_the_bar_at_two_microvolts():
    plan = BenchPlan.of(KitTypeFactory())
    assert plan.required == ("still", "flex", "lift", "ground")
    assert plan.noise_limit_uv == 2.0


def test_reading_a_plan_stores_none_and_the_first_change_does():
    kit_type = KitTypeFactory()
    assert BenchPlan.of(kit_type).pk is None
    assert not BenchPlan.objects.exists()
    change_plan(kit_type, {"tests": ["still", "flex", "lift"]}, reason=REASON)
    assert BenchPlan.of(kit_type).required == ("still", "flex", "lift")
    assert BenchPlan.objects.count() == 1


def test_a_tighter_limit_judges_the_round_anew_and_takes_the_clearance(kit):
    store_upload(kit_files(kit.code))
    assert change_plan(kit.kit_type, {"noise_limit_uv": 0.05}, reason=REASON) == [kit]
    kit.refresh_from_db()
    assert not kit.cleared
    assert Verdict.objects.filter(current=False).count() == 3


def test_a_longer_plan_asks_for_the_new_test_and_a_shorter_one_clears_again(kit):
    store_upload(kit_files(kit.code))
    change_plan(kit.kit_type, {"tests": ["still", "flex", "lift", "ground"]}, reason=REASON)
    kit.refresh_from_db()
    assert (kit.cleared, kit.not_cleared_reason) == (False, "These tests are missing: ground.")
    change_plan(kit.kit_type, {"tests": ["still", "flex", "lift"]}, reason=REASON)
    kit.refresh_from_db()
    assert kit.cleared


def test_saving_a_plan_without_a_change_touches_nothing(kit):
    store_upload(kit_files(kit.code))
    assert (
        change_plan(
            kit.kit_type, {"tests": ["still", "flex", "lift"], "noise_limit_uv": 2.0}, reason=REASON
        )
        == []
    )


def test_the_page_saves_and_says_which_kits_it_concerns(signed_in, kit):
    store_upload(kit_files(kit.code))
    address = reverse("readiness:plan", args=[kit.kit_type_id])
    facts = {**DEFAULTS, "noise_limit_uv": "1.5", "noise_reason": "Quiet room, new amplifiers."}
    page = signed_in.post(address, facts, follow=True).content.decode()
    assert f"Judged anew by the changed plan: {kit.code}." in page
    assert BenchPlan.of(kit.kit_type).noise_limit_uv == 1.5
    assert "highest noise floor, µV RMS: 2, now 1.5" in page
    assert f"Why: {REASON}" in page
    change = changes_of_plan(kit.kit_type).get()
    assert change.data["limits"]["noise_limit_uv"] == 1.5 and change.actor_name == "owner"
    assert verify() == []


def test_no_limit_changes_without_a_reason_and_what_was_typed_stays(signed_in, kit):
    address = reverse("readiness:plan", args=[kit.kit_type_id])
    facts = {**DEFAULTS, "noise_limit_uv": "50", "noise_reason": "A loud room.", "reason": "so"}
    answer = signed_in.post(address, facts)
    page = answer.content.decode()
    assert answer.status_code == 422 and "Write in a sentence why this changes" in page
    assert 'value="50"' in page and "A loud room." in page
    assert BenchPlan.of(kit.kit_type).noise_limit_uv == 2.0
    assert not changes_of_plan(kit.kit_type).exists()


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        ({"still": "", "flex": "", "lift": ""}, "Choose at least one test."),
        ({"noise_limit_uv": "1.5"}, "Write why this limit holds."),
        ({"battery_limit_v": "2.6"}, "Write why this limit holds."),
        ({"noise_limit_uv": "0", "noise_reason": "so"}, "noise"),
        ({"noise_limit_uv": "two"}, "Give a number"),
        ({"battery_limit_v": "99", "battery_reason": "so"}, "battery"),
    ],
)
def test_what_cannot_be_is_said_and_what_was_typed_stays(signed_in, kit, facts, said):
    address = reverse("readiness:plan", args=[kit.kit_type_id])
    data = {key: value for key, value in {**DEFAULTS, **facts}.items() if value}
    answer = signed_in.post(address, data)
    assert answer.status_code == 422
    html = answer.content.decode()
    assert said in html
    assert all(
        f'value="{value}"' in html
        for key, value in facts.items()
        if value and key.endswith(("_uv", "_v"))
    )
    assert BenchPlan.of(kit.kit_type).noise_limit_uv == 2.0


def test_the_owner_takes_the_proposed_limit_and_the_reason_is_recorded(kit, owner):
    amplifier = stills(kit, 3)
    limit = proposals_for(kit.kit_type)[0].limit_uv
    accept_noise_limit(amplifier, "Three clean evenings in a row.", actor=owner)
    amplifier.refresh_from_db()
    assert amplifier.noise_limit_uv == limit
    event = kit.events.get(part=amplifier.part_ptr, verb="noted")
    assert f"Own noise limit {limit:g} µV" in event.text
    assert "Three clean evenings in a row." in event.text
    assert event.actor == owner
    assert {v.limits["noise_uv"] for v in Verdict.objects.filter(current=True)} == {limit}
    assert proposals_for(kit.kit_type) == []


@pytest.mark.parametrize(
    ("reason", "count", "words"), [("no", 3, "in a sentence"), ("A good reason.", 2, "2 good")]
)
def test_a_limit_is_not_taken_without_reason_or_captures(kit, owner, reason, count, words):
    amplifier = stills(kit, count)
    with pytest.raises(Refused, match=words):
        accept_noise_limit(amplifier, reason, actor=owner)


def test_only_the_owner_takes_a_limit(kit):
    amplifier = stills(kit, 3)
    with pytest.raises(Refused, match="Only the owner"):
        accept_noise_limit(amplifier, "Three clean evenings in a row.", actor=UserFactory())


def test_the_page_offers_the_limit_and_takes_it(signed_in, kit):
    amplifier = stills(kit, 3)
    address = reverse("readiness:plan", args=[kit.kit_type_id])
    assert "proposed limit" in signed_in.get(address).content.decode()
    accept = reverse("readiness:accept_limit", args=[kit.kit_type_id, amplifier.pk])
    short = signed_in.post(accept, {"reason": "ok"})
    assert short.status_code == 422
    assert "Write the reason in a sentence" in short.content.decode()
    assert signed_in.post(accept, {"reason": "Three clean evenings in a row."}).status_code == 302
    amplifier.refresh_from_db()
    assert amplifier.noise_limit_uv


def two_columns(kit, seed=1):
    facts = {"kit": kit.code, "seed": seed, "drop": ("unit", "resolution", "range")}
    head, rows = capture_bytes("still", **facts).split(b"emg\n")
    return (
        head
        + b"left,right\n"
        + b"\n".join(line + b"," + line for line in rows.split(b"\n") if line)
        + b"\n"
    )


def sound_of_ten_seconds():
    stream = io.BytesIO()
    with wave.open(stream, "wb") as file:
        file.setparams((1, 2, 1000, 0, "NONE", ""))
        codes = np.random.default_rng(8).integers(-900, 900, 10_000)
        file.writeframes(codes.astype("<i2").tobytes())
    return stream.getvalue()


def columns(chosen, **more):
    facts = {
        "kit_type": chosen.pk,
        "role_0": "emg",
        "unit_0": "uV",
        "role_1": "other",
        "unit_1": "",
    }
    return {**facts, **more}


def test_a_column_map_is_made_once_and_then_used_by_itself(signed_in, kit):
    upload = store_upload([capture_file(f"{n}.csv", two_columns(kit, n)) for n in (1, 2)])
    first = upload.captures.get(name="1.csv")
    assert (first.status, first.missing) == ("asking", "column")
    address = reverse("readiness:columns", args=[first.pk])
    page = signed_in.get(address).content.decode()
    assert "left: what it is" in page
    assert "First rows" in page
    answer = signed_in.post(address, columns(kit.kit_type))
    assert (answer.status_code, answer.url) == (302, upload.get_absolute_url())
    assert set(upload.captures.values_list("status", flat=True)) == {"scored"}
    later = store_upload([capture_file("3.csv", two_columns(kit, 3))]).captures.get()
    assert later.status == "scored"


def test_each_layout_keeps_its_own_map(signed_in, kit):
    capture = store_upload([capture_file("1.csv", two_columns(kit))]).captures.get()
    address = reverse("readiness:columns", args=[capture.pk])
    signed_in.post(address, columns(kit.kit_type))
    sound = store_upload([capture_file(f"{kit.code} still.wav", sound_of_ten_seconds())])
    asking = sound.captures.get()
    assert (asking.status, asking.missing) == ("asking", "scale")
    address = reverse("readiness:columns", args=[asking.pk])
    assert "Voltage at full scale, mV" in signed_in.get(address).content.decode()
    facts = {"kit_type": kit.kit_type.pk, "role_0": "emg", "unit_0": ""}
    assert signed_in.post(address, facts).status_code == 422
    signed_in.post(address, {**facts, "full_scale_mv": "0.1"})
    assert sound.captures.get().status == "scored"
    page = signed_in.get(reverse("readiness:plan", args=[kit.kit_type.pk])).content.decode()
    kept_for = "kept, for files with the columns"
    assert page.count(kept_for) == 2
    saved = signed_in.get(reverse("readiness:column_maps", args=[kit.kit_type.pk])).json()
    assert [one_map["signature"] for one_map in saved] == ["sound", "left|right"]
    assert saved[0]["full_scale_uv"] == 100.0


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"role_0": "other"}, "no file can be read"),
        ({"role_1": "emg"}, "no file can be read"),
        ({"unit_0": "s"}, "no file can be read"),
        ({"kit_type": "999"}, "Choose again"),
    ],
)
def test_columns_that_cannot_be_are_said(signed_in, kit, wrong, said):
    capture = store_upload([capture_file("a.csv", two_columns(kit))]).captures.get()
    answer = signed_in.post(
        reverse("readiness:columns", args=[capture.pk]), columns(kit.kit_type, **wrong)
    )
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert BenchPlan.of(kit.kit_type).column_maps == []


def test_a_file_without_columns_says_so_on_the_column_page(signed_in, kit):
    capture = store_upload([capture_file("junk.csv", b"junk")]).captures.get()
    assert (
        "no row of numbers"
        in signed_in.get(reverse("readiness:columns", args=[capture.pk])).content.decode()
    )
