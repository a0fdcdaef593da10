"""Another bench test takes one definition and one judge: plan, timer, kit and command follow."""

from __future__ import annotations

import argparse

import numpy as np
import pytest
from django.urls import reverse

from readiness.actions import score
from readiness.actions.plan import change_plan
from readiness.actions.upload import store_upload
from readiness.forms.bench import PlanForm
from readiness.intake.matching import read_name
from readiness.judgement.judging import open_capture
from readiness.models import BenchPlan, BenchTest, Capture
from readiness.signal.bench_tests.findings import finding
from readiness.signal.bench_tests.view import Judgement, View
from readiness.signal.capture import Recording
from readiness.signal.catalogue import CATALOGUE, DURATION_S, TestKind, TestWindow
from readiness.signal.command import add_arguments
from readiness.signal.kit import kit_verdict
from readiness.signal.score import score_capture
from readiness.signal.simulator.captures import simulate
from tests.factories import complete_kit
from tests.readiness.captures import capture_bytes, capture_file, kit_files
from tests.readiness.signal.made import SETUP

LOUD_UV = 1e5


REASON = "The room is a quiet one."


def judge_tap(view: View) -> Judgement:
    """Fit, unless the trace is louder than any bar."""
    if float(np.ptp(view.x)) > LOUD_UV:
        return Judgement(findings=(finding("burst_noise", "retest", "It rang when tapped."),))
    return Judgement(continuity=100.0)


TAP = TestKind(
    name="tapping",
    title="Tapping: knock on the plug",
    ready=("Put the three snap ends on the shorting bar.",),
    windows=(
        TestWindow("still", 0.0, 5.0, "Hands off", "Wait."),
        TestWindow("plug", 5.0, DURATION_S, "Tap the plug", "With one finger, twice a second."),
    ),
    shows="A loose plug.",
    asks="Knock on the plug.",
    act="rest",
    judge_at="tests.readiness.test_sixth_test:judge_tap",
)


@pytest.fixture(autouse=True)
def sixth_test(monkeypatch):
    monkeypatch.setitem(CATALOGUE, TAP.name, TAP)
    # The process apart imports the catalogue anew: it knows what stands in code, not in this test.
    monkeypatch.setattr(score, "open_apart", open_capture)


def tapped(**facts: object) -> Recording:
    return simulate("tapping", SETUP, rng=np.random.default_rng(3), **facts).capture


def test_the_simulator_makes_it_and_scoring_asks_its_judge():
    result = score_capture(tapped())
    assert (result.test, result.verdict, result.scores.continuity) == ("tapping", "fit", 100.0)
    assert result.windows == (("still", 0.0, 5.0), ("plug", 5.0, 10.0))


def test_the_verdict_on_a_kit_counts_it():
    plan = ("still", "tapping")
    assert kit_verdict({}, plan).missing == plan
    results = {name: score_capture(simulate(name, SETUP).capture) for name in plan}
    assert kit_verdict(results, plan).verdict == "fit"


def test_the_command_and_the_file_name_know_it():
    parser = argparse.ArgumentParser()
    add_arguments(parser)
    assert parser.parse_args(["--test", "tapping", "a.csv"]).test == "tapping"
    assert read_name("K0001O tapping.csv").test == "tapping"


@pytest.mark.django_db
def test_the_timer_leads_through_it(signed_in):
    html = signed_in.get(reverse("readiness:timer", args=["tapping"])).content.decode()
    for words in (TAP.title, TAP.ready[0], "Tap the plug", TAP.shows):
        assert words in html
    assert TAP.title in signed_in.get(reverse("readiness:timer", args=["still"])).content.decode()


@pytest.mark.django_db
def test_the_plan_form_has_a_box_for_it_and_keeps_it(signed_in):
    kit = complete_kit(cleared=False)
    address = reverse("readiness:plan", args=[kit.kit_type_id])
    html = signed_in.get(address).content.decode()
    assert TAP.title in html
    assert TAP.asks in html
    facts = {"still": "on", "tapping": "on", "noise_limit_uv": "2.0", "reason": REASON}
    answer = signed_in.post(address, facts)
    assert answer.status_code == 302
    plan = BenchPlan.of(kit.kit_type)
    assert plan.required == ("still", "tapping")
    assert PlanForm(instance=plan)["tapping"].initial is True


@pytest.mark.django_db
def test_a_kit_is_held_up_for_it_and_cleared_by_it(signed_in):
    kit = complete_kit(cleared=False)
    store_upload(kit_files(kit.code))
    change_plan(kit.kit_type, {"tests": ["still", "flex", "lift", "tapping"]}, reason=REASON)
    kit.refresh_from_db()
    assert kit.not_cleared_reason == "These tests are missing: tapping."
    page = reverse("readiness:kit_bench", args=[kit.code])
    assert f"{TAP.title}" in signed_in.get(page).content.decode()
    store_upload([capture_file("tap.csv", capture_bytes("tapping", kit=kit.code))])
    kit.refresh_from_db()
    assert kit.cleared
    current = BenchTest.objects.get(kit=kit, current=True)
    assert (current.verdict, current.required[-1]) == ("fit", "tapping")
    Capture.objects.get(test="tapping").clean_fields(exclude=["declared"])
