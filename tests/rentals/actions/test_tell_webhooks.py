"""What is told is written with the act: with it, or not at all; and it holds no name."""

import json

import pytest
from django.db import transaction
from django.utils import timezone

from rentals.actions.dispatch import dispatch, recall
from rentals.actions.send_webhooks import make_due_calls
from rentals.actions.tell_webhooks import tell
from rentals.actions.webhooks import make_webhook, pause_webhook, remove_webhook
from rentals.models import Webhook, WebhookCall
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db
ADDRESS = "https://course.example.org/kits"


def _told() -> list[dict]:
    return [json.loads(call.body) for call in WebhookCall.objects.order_by("pk")]


def test_a_dispatch_is_told_by_codes_to_whoever_wants_it():
    make_webhook(ADDRESS, ["kit.dispatched", "kit.recalled"])
    make_webhook(ADDRESS, ["kit.lost"])
    loan = packed_loan()
    dispatch(loan.kit.code, tracking_number="AB 12")
    recall(loan.kit.code, reason="It still stands here.")
    sent, back = _told()
    loan.kit.refresh_from_db()
    assert (sent["type"], back["type"]) == ("kit.dispatched", "kit.recalled")
    facts = {"kit": loan.kit.code, "event": loan.kit.event_count, "loan": loan.pk}
    assert back["data"] == facts
    words = json.dumps(_told())
    student = loan.enrolment.student
    assert not any(word in words for word in (student.name, student.email, "AB12", "stands"))


def test_an_act_that_fails_tells_nothing():
    make_webhook(ADDRESS, ["kit.dispatched"])
    loan = packed_loan()
    with pytest.raises(RuntimeError), transaction.atomic():
        dispatch(loan.kit.code)
        raise RuntimeError
    assert _told() == []


def test_for_a_paused_one_it_is_kept_and_for_a_removed_one_not(django_assert_num_queries):
    make_webhook(ADDRESS, ["kit.dispatched"])
    hook = Webhook.objects.get()
    pause_webhook(hook)
    tell("kit.dispatched", {"kit": "K0001X"}, at=timezone.now())
    assert [call.state for call in WebhookCall.objects.all()] == ["waiting"]
    assert make_due_calls() == 0
    remove_webhook(hook)
    with django_assert_num_queries(1):
        tell("kit.dispatched", {"kit": "K0001X"}, at=timezone.now())
    assert len(_told()) == 1
