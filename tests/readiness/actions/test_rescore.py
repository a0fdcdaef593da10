"""Scoring stored captures again: old verdicts stay, kits that changed are named, any number of
processes agree.
"""

from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from readiness.actions.rescore import rescore
from readiness.actions.upload import store_upload
from readiness.models import BenchPlan, Capture, Verdict
from tests.factories import complete_kit
from tests.readiness.captures import capture_bytes, capture_file, kit_files
from tests.readiness.drops import fit_kit, tighten

pytestmark = pytest.mark.django_db


@pytest.fixture
def kit():
    return fit_kit()


def run(*options):
    out = StringIO()
    call_command("rescore", *options, stdout=out)
    return out.getvalue()


def test_nothing_changed_means_nothing_to_do(kit):
    assert "0 captures scored again" in run("--workers", "1")
    assert Verdict.objects.count() == 3


def test_all_again_without_a_change_writes_no_verdict_twice(kit):
    said = run("--all", "--workers", "1")
    assert "3 captures scored again" in said
    assert "0 with another verdict" in said
    assert "No kit changed." in said
    assert Verdict.objects.count() == 3


def test_a_tighter_limit_scores_again_keeps_the_old_verdicts_and_names_the_kit(kit):
    tighten(kit)
    said = run("--workers", "1")
    assert f"Kit {kit.code}: fit before, not fit now." in said
    still = kit.captures.get(test="still")
    assert [
        (v.current, v.verdict, v.limits["noise_uv"]) for v in still.verdicts.order_by("pk")
    ] == [
        (False, "fit", 2.0),
        (True, "not fit", 0.05),
    ]
    kit.refresh_from_db()
    assert not kit.cleared
    assert "noise (still)" in kit.not_cleared_reason


def test_one_kit_only(kit):
    other = complete_kit(kit.kit_type, cleared=False)
    store_upload(kit_files(other.code, seed=30))
    tighten(kit)
    assert "3 captures" in run("--kit", kit.code, "--workers", "1")
    assert not other.captures.filter(verdicts__current=False).exists()


def test_a_longer_plan_takes_the_clearance_back_without_any_new_score(kit):
    plan = BenchPlan.of(kit.kit_type)
    plan.tests = [*plan.tests, "ground"]
    plan.save()
    assert f"Kit {kit.code}: fit before, not finished now." in run("--workers", "1")
    kit.refresh_from_db()
    assert not kit.cleared


def test_two_processes_say_what_one_says(kit):
    tighten(kit)
    report = rescore(Capture.objects.all(), workers=2, why="limits changed")
    assert report.captures == 3
    assert report.kits == {kit.code: ("fit", "not fit")}
    assert Verdict.objects.filter(current=True, why="limits changed").count() == 3
    two = {v.capture_id: v.result for v in Verdict.objects.filter(current=True)}
    Verdict.objects.filter(current=True).update(limits={})
    rescore(Capture.objects.all(), workers=1)
    assert two == {v.capture_id: v.result for v in Verdict.objects.filter(current=True)}


def test_a_file_gone_from_the_disk_is_said_and_its_verdict_stays_in_the_history(kit):
    capture = kit.captures.get(test="flex")
    capture.file.storage.delete(capture.file.name)
    report = rescore(Capture.objects.all())
    assert report.changed == [capture.name]
    capture.refresh_from_db()
    assert capture.status == "unreadable"
    assert not capture.verdicts.filter(current=True).exists()
    kit.refresh_from_db()
    assert not kit.cleared


@pytest.mark.parametrize(
    ("code", "words"), [("K00", "is not a code"), ("K00116", "There is no kit|does not hold")]
)
def test_a_kit_that_is_none_is_said(code, words, db):
    with pytest.raises(CommandError, match=words):
        run("--kit", code)


def test_no_worker_is_refused(db):
    with pytest.raises(CommandError, match="from 1 up"):
        run("--workers", "0")


def test_progress_is_told(kit):
    told = []
    rescore(Capture.objects.all(), on_progress=lambda done, total: told.append((done, total)))
    assert told == [(0, 3), (3, 3)]


def test_captures_that_wait_for_an_answer_are_left_alone(kit):
    store_upload([capture_file("a.csv", capture_bytes("flex", seed=40, drop=("kit",)))])
    assert rescore(Capture.objects.all()).captures == 3
