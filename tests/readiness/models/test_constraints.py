"""What must never be in the tables of the bench, tried on the database behind the actions'
backs.
"""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from readiness.models import (
    BenchPlan,
    BenchTest,
    Capture,
    GuidedRound,
    TurnedAway,
    Upload,
    Verdict,
)
from tests.factories import KitTypeFactory, complete_kit

pytestmark = pytest.mark.django_db


def refused(do):
    with pytest.raises(IntegrityError), transaction.atomic():
        do()


@pytest.fixture
def capture():
    upload = Upload.objects.create(at=timezone.now())
    return Capture.objects.create(
        upload=upload,
        name="a.csv",
        size=10,
        sha256="a" * 64,
        file="captures/aa/a",
        kit=complete_kit(),
        test="still",
        taken=timezone.now(),
        status="scored",
    )


def verdict(capture, **facts):
    return Verdict.objects.create(
        capture=capture, at=timezone.now(), method_version="1.0", **{"verdict": "fit", **facts}
    )


def test_the_same_bytes_twice(capture):
    refused(
        lambda: Capture.objects.create(
            upload=capture.upload,
            name="b.csv",
            size=10,
            sha256=capture.sha256,
            taken=timezone.now(),
        )
    )


def test_an_empty_capture(capture):
    refused(lambda: Capture.objects.filter(pk=capture.pk).update(size=0))


@pytest.mark.parametrize("lack", [{"kit": None}, {"test": ""}])
def test_scored_without_kit_or_test(capture, lack):
    refused(lambda: Capture.objects.filter(pk=capture.pk).update(**lack))


@pytest.mark.parametrize("status", ["asking", "unreadable"])
def test_refused_without_a_word(capture, status):
    refused(lambda: Capture.objects.filter(pk=capture.pk).update(status=status, refusal=""))


def test_scoring_without_a_claim(capture):
    refused(lambda: Capture.objects.filter(pk=capture.pk).update(status="scoring", claimed_at=None))


def test_two_current_verdicts_of_one_capture(capture):
    verdict(capture)
    refused(lambda: verdict(capture))
    verdict(capture, current=False)


@pytest.mark.parametrize("score", ["continuity", "noise", "battery"])
@pytest.mark.parametrize("value", [-0.1, 100.1])
def test_a_score_outside_its_range(capture, score, value):
    refused(lambda: verdict(capture, **{score: value}))
    refused(lambda: BenchTest.objects.create(kit=capture.kit, at=timezone.now(), **{score: value}))


def test_a_verdict_that_is_none_of_three(capture):
    refused(lambda: verdict(capture, verdict="perhaps"))


def test_two_current_rounds_of_one_kit(capture):
    BenchTest.objects.create(kit=capture.kit, at=timezone.now())
    refused(lambda: BenchTest.objects.create(kit=capture.kit, at=timezone.now()))
    BenchTest.objects.create(kit=capture.kit, at=timezone.now(), current=False)


def test_a_round_that_clears_without_being_fit(capture):
    refused(
        lambda: BenchTest.objects.create(
            kit=capture.kit, at=timezone.now(), verdict="retest", cleared_at=timezone.now()
        )
    )


def test_a_plan_without_a_test():
    plan = BenchPlan.objects.create(kit_type=KitTypeFactory())
    refused(lambda: BenchPlan.objects.filter(pk=plan.pk).update(tests=[]))


@pytest.mark.parametrize(
    "limit",
    [
        {"noise_limit_uv": 0},
        {"noise_limit_uv": 1001},
        {"battery_limit_v": 0},
        {"battery_limit_v": 16},
    ],
)
def test_a_limit_that_cannot_be(limit):
    plan = BenchPlan.objects.create(kit_type=KitTypeFactory())
    refused(lambda: BenchPlan.objects.filter(pk=plan.pk).update(**limit))


def test_two_plans_of_one_kit_type():
    plan = BenchPlan.objects.create(kit_type=KitTypeFactory())
    refused(lambda: BenchPlan.objects.create(kit_type=plan.kit_type))


def test_a_kit_with_captures_cannot_be_deleted(capture):
    # PROTECT is the ORM's; the database's own foreign key holds as well.
    with pytest.raises(IntegrityError), transaction.atomic():
        capture.kit.delete()


def test_a_turned_away_file_goes_with_its_drop_only():
    upload = Upload.objects.create(at=timezone.now())
    TurnedAway.objects.create(upload=upload, name="x", sentence="The file is empty.")
    upload.delete()
    assert not TurnedAway.objects.exists()


def test_two_open_guided_rounds_of_one_kit(capture):
    now = timezone.now()
    begun = GuidedRound.objects.create(kit=capture.kit, begun_at=now)
    refused(lambda: GuidedRound.objects.create(kit=capture.kit, begun_at=now))
    GuidedRound.objects.create(kit=capture.kit, begun_at=now, ended_at=now)
    earlier = now - timedelta(seconds=1)
    refused(lambda: GuidedRound.objects.filter(pk=begun.pk).update(ended_at=earlier))
