"""Calls leave at least once and signed, are tried again ever later, and given up at the end."""

from datetime import datetime, timedelta

import pytest
from django.utils import timezone

from rentals.actions.send_webhooks import LEASE, forget_old_calls, make_due_calls
from rentals.actions.tell_webhooks import tell
from rentals.actions.webhooks import make_webhook
from rentals.models import Webhook, WebhookCall
from rentals.post.webhook import WAITS, signature
from rentals.selectors.webhooks import secret_of
from tests.webhook_receiver import running_receiver

pytestmark = pytest.mark.django_db


@pytest.fixture
def receiver(settings):
    settings.KITDESK_HOOKS_PRIVATE = ["127.0.0.0/8"]
    with running_receiver() as running:
        make_webhook(f"{running.address}/kits", ["kit.lost"])
        yield running


def _call(at: datetime | None = None) -> None:
    tell("kit.lost", {"kit": "K0001X"}, at=at or timezone.now())


def _states() -> list[str]:
    return list(WebhookCall.objects.order_by("pk").values_list("state", flat=True))


def _later(**how_long: float) -> datetime:
    return timezone.now() + timedelta(**how_long)


def test_a_call_is_signed_and_taken_once(receiver):
    _call()
    assert make_due_calls() == 1
    assert make_due_calls() == 0
    (call,) = WebhookCall.objects.all()
    (head,) = receiver.heads
    assert receiver.bodies == [call.body] and head["webhook-id"] == call.call_id
    timestamp = int(head["webhook-timestamp"])
    secret = secret_of(call.webhook)
    signed = signature(secret, call.call_id, timestamp, call.body)
    assert head["webhook-signature"] == signed
    assert (call.state, call.last_status, call.attempts) == ("taken", 204, 1)
    assert Webhook.objects.get().answered_at is not None


def test_a_refused_call_is_tried_again_later_under_its_id_and_holds_up_nobody(receiver):
    receiver.statuses = [500, 204, 204]
    _call()
    _call()
    assert make_due_calls() == 1
    assert _states() == ["waiting", "taken"]
    assert make_due_calls() == 0
    assert make_due_calls(_later(seconds=6)) == 1
    first, _, again = receiver.heads
    assert first["webhook-id"] == again["webhook-id"]
    assert _states() == ["taken", "taken"]


def test_one_that_does_not_answer_is_left_alone_for_a_minute(receiver):
    receiver.statuses = [0]
    for _ in range(3):
        _call()
    assert make_due_calls() == 0
    assert len(receiver.heads) == 1
    assert make_due_calls(_later(minutes=2)) >= 1


def test_at_the_end_it_is_given_up_and_the_webhook_paused(receiver):
    _call()
    receiver.statuses = [500] * 20
    for _ in range(len(WAITS) + 1):
        make_due_calls(_later(days=2))
    call, hook = WebhookCall.objects.get(), Webhook.objects.get()
    assert (call.state, call.attempts) == ("given_up", len(WAITS) + 1)
    assert "for three days" in hook.paused_why and hook.paused_at
    assert make_due_calls(_later(days=9)) == 0 and len(receiver.heads) == len(WAITS) + 1


def test_one_that_takes_others_goes_on_when_a_call_is_given_up(receiver):
    _call(timezone.now() - timedelta(days=4))
    WebhookCall.objects.update(attempts=len(WAITS))
    _call()
    receiver.statuses = [500]
    Webhook.objects.update(answered_at=timezone.now())
    make_due_calls()
    assert _states() == ["given_up", "taken"]
    assert Webhook.objects.get().paused_at is None


def test_a_receiver_that_is_gone_pauses_at_once(receiver):
    receiver.statuses = [410]
    _call()
    make_due_calls()
    assert _states() == ["given_up"]
    assert "gone (410)" in Webhook.objects.get().paused_why


def test_a_call_whose_worker_was_killed_is_made_again(receiver):
    _call()
    long_ago = timezone.now() - LEASE.duration - timedelta(seconds=1)
    WebhookCall.objects.update(state="sending", claimed_at=timezone.now(), attempts=1)
    assert make_due_calls() == 0
    WebhookCall.objects.update(claimed_at=long_ago)
    assert make_due_calls() == 1
    assert _states() == ["taken"]


def test_a_place_in_the_desks_own_network_is_not_called(receiver, settings):
    settings.KITDESK_HOOKS_PRIVATE = []
    _call()
    assert make_due_calls() == 0
    assert receiver.heads == []
    assert "not public" in WebhookCall.objects.get().last_words


def test_old_calls_are_forgotten(receiver):
    _call(timezone.now() - timedelta(days=40))
    _call()
    make_due_calls()
    forget_old_calls()
    assert WebhookCall.objects.count() == 1
