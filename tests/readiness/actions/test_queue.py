"""Captures are queued once more, and what another process took up is left alone."""

import pytest

from readiness.actions import queue
from readiness.actions.queue import queue_again
from readiness.models import Capture
from tests.readiness.drops import wait

pytestmark = pytest.mark.django_db


def test_a_capture_is_scored_as_if_it_had_just_come_and_its_verdict_holds(capture):
    wait(capture, status="unreadable", refusal="Gone from the disk.", attempts=3)
    assert queue_again(Capture.objects.filter(status="unreadable")) == 1
    capture.refresh_from_db()
    assert (capture.status, capture.refusal, capture.attempts) == ("scored", "", 1)
    assert capture.verdicts.get().current


def test_what_left_the_queryset_meanwhile_is_not_queued(capture, monkeypatch):
    queued = []
    monkeypatch.setattr(queue, "score_later", queued.extend)
    wait(capture, status="asking", refusal="Which kit?", missing="kit")
    asking = Capture.objects.filter(status="asking")
    keys = list(asking.values_list("pk", flat=True))
    monkeypatch.setattr(asking, "values_list", lambda *args, **kwargs: keys)
    wait(capture)
    assert queue_again(asking) == 0
    assert queued == []
