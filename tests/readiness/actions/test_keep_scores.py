"""A batch of captures is written down at once: few queries, each kit judged once, none lost."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from readiness.actions import keep_scores as keeping
from readiness.actions import score
from readiness.actions.score import score_some
from readiness.actions.upload import store_upload
from readiness.models import BenchPlan, Capture, CaptureMark, Verdict
from rentals.verify import verify
from tests.factories import complete_kit
from tests.readiness.captures import capture_bytes, capture_file, kit_files

pytestmark = pytest.mark.django_db


@pytest.fixture
def waiting(settings):
    """Captures of four kits that wait to be scored, by key."""
    settings.TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}
    kits = [complete_kit(cleared=False) for _ in range(4)]
    files = [file for seed, kit in enumerate(kits, 1) for file in kit_files(kit.code, seed=seed)]
    upload = store_upload(files)
    return list(upload.captures.order_by("kit", "pk").values_list("pk", flat=True))


def test_a_capture_of_a_batch_costs_few_queries(waiting):
    with CaptureQueriesContext(connection) as queries:
        assert score_some(waiting) == []
    assert set(Capture.objects.values_list("status", flat=True)) == {"scored"}
    assert Verdict.objects.filter(current=True, verdict="fit").count() == 12
    assert CaptureMark.objects.count() == 12
    assert len(queries) <= 6 * len(waiting), "\n".join(each["sql"][:90] for each in queries)
    assert verify() == []


def test_a_kit_that_cannot_be_judged_costs_no_other_its_results(waiting, monkeypatch, caplog):
    conclude, broken = keeping.conclude_locked, Capture.objects.get(pk=waiting[3]).kit

    def conclude_others(kit, *found, **facts):
        if kit == broken:
            raise RuntimeError("not to be expected")
        return conclude(kit, *found, **facts)

    monkeypatch.setattr(keeping, "conclude_locked", conclude_others)
    score_some(waiting)
    by_status = {
        status: Capture.objects.filter(status=status).count() for status in ("scored", "scoring")
    }
    assert by_status == {"scored": 9, "scoring": 3}
    assert not Verdict.objects.filter(capture__kit=broken).exists()
    assert "not to be expected" in caplog.text


def test_the_plan_of_now_counts_and_not_that_at_the_beginning(waiting, monkeypatch):
    real, kit = score.judge, Capture.objects.get(pk=waiting[0]).kit

    def meanwhile(*args):
        BenchPlan.objects.filter(kit_type=kit.kit_type).update(tests=["still", "ground"])
        return real(*args)

    monkeypatch.setattr(score, "judge", meanwhile)
    score_some(waiting)
    kit.refresh_from_db()
    assert kit.bench_tests.get(current=True).required == ["still", "ground"]
    assert not kit.cleared


def test_the_same_samples_are_found_within_a_batch_and_in_one_that_ran_beside_it(
    settings, monkeypatch
):
    settings.TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}
    kits = [complete_kit(cleared=False) for _ in range(3)]
    data = capture_bytes("still", drop=("kit", "test"))
    files = [capture_file(f"{kit.code} still.csv", data + b"\n" * n) for n, kit in enumerate(kits)]
    upload = store_upload(files)
    first, second, third = upload.captures.order_by("pk").values_list("pk", flat=True)

    real = score.judge

    def beside(*args):
        monkeypatch.setattr(score, "judge", real)
        score_some([first, second])
        return real(*args)

    monkeypatch.setattr(score, "judge", beside)
    score_some([third])
    statuses = list(upload.captures.order_by("pk").values_list("status", flat=True))
    assert statuses == ["scored", "unreadable", "unreadable"]
    assert "its samples are those of" in Capture.objects.get(pk=third).refusal
    assert Verdict.objects.count() == CaptureMark.objects.count() == 1


def test_what_no_time_is_left_for_is_given_back_untried(waiting, monkeypatch):
    monkeypatch.setattr(score, "LONGEST_BATCH_S", -1)
    assert score_some(waiting) == waiting
    assert set(Capture.objects.values_list("status", "attempts", "claimed_at")) == {
        ("waiting", 0, None)
    }
