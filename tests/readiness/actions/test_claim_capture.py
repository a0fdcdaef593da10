"""A capture is scored by one worker at a time, and taken up again where that died."""

from datetime import timedelta

import pytest
from django.utils import timezone

from readiness.actions.claim_capture import (
    LEASE,
    LONGEST_REFUSAL,
    claim,
    put_back,
    refuse,
    release_expired,
)
from readiness.actions.score import score_one
from readiness.actions.scoring_tasks import requeue_expired
from tests.readiness.drops import wait

pytestmark = pytest.mark.django_db


def test_a_claim_that_runs_is_left_alone(capture):
    wait(capture, status="scoring", claimed_at=timezone.now())
    assert score_one(capture.pk) == "scoring"
    assert release_expired() == []


def test_a_claim_of_a_dead_worker_is_taken_up_again(capture):
    wait(
        capture,
        status="scoring",
        claimed_at=timezone.now() - LEASE.duration - timedelta(seconds=1),
        attempts=1,
    )
    assert requeue_expired() == 1
    capture.refresh_from_db()
    assert (capture.status, capture.attempts) == ("scored", 2)


def test_a_claim_broken_off_too_often_is_given_up_in_words(capture):
    wait(
        capture,
        status="scoring",
        claimed_at=timezone.now() - LEASE.duration * 2,
        attempts=LEASE.tries,
    )
    assert requeue_expired() == 0
    capture.refresh_from_db()
    assert capture.status == "unreadable"
    assert "broken off 3 times" in capture.refusal


def test_two_reapers_queue_a_capture_once(capture):
    wait(capture, status="scoring", claimed_at=timezone.now() - LEASE.duration * 2, attempts=1)
    assert release_expired() == [capture.pk]
    assert release_expired() == []


def test_of_two_workers_one_claims_a_capture(capture):
    assert claim([capture.pk]) == []  # it is scored already
    wait(capture)
    [claimed] = claim([capture.pk])
    assert (claimed.status, claimed.attempts) == ("scoring", 1)
    assert claim([capture.pk]) == []


@pytest.mark.parametrize(("missing", "status"), [("kit", "asking"), ("", "unreadable")])
def test_a_claim_ends_in_a_question_or_a_refusal(capture, missing, status):
    wait(capture)
    [claimed] = claim([capture.pk])
    assert refuse(claimed, "Which kit is it? " * 60, missing) == status
    capture.refresh_from_db()
    assert (capture.status, capture.missing, capture.attempts) == (status, missing, 0)
    assert len(capture.refusal) == LONGEST_REFUSAL
    refuse(claimed, "Too late.")
    capture.refresh_from_db()
    assert capture.refusal != "Too late."


def test_a_claim_that_is_put_back_is_tried_again_later_and_at_last_refused(capture):
    wait(capture)
    [claimed] = claim([capture.pk])
    assert put_back(claimed) == "scoring"
    capture.refresh_from_db()
    assert capture.claimed_at < timezone.now()
    wait(capture, attempts=LEASE.tries - 1)
    assert put_back(claim([capture.pk])[0]) == "unreadable"
    capture.refresh_from_db()
    assert "failed 3 times" in capture.refusal
