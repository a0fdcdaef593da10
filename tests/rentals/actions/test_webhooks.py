"""Webhooks are made, paused, resumed, and told again; each an event."""

import base64
import json
from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions.send_webhooks import forget_old_calls, make_due_calls
from rentals.actions.tell_webhooks import tell
from rentals.actions.webhooks import (
    call_again,
    make_webhook,
    pause_webhook,
    remove_webhook,
    resume_webhook,
    try_webhook,
)
from rentals.errors import Refused
from rentals.models import Event, Webhook, WebhookCall
from rentals.selectors.webhooks import secret_of, webhooks
from tests.webhook_receiver import running_receiver

pytestmark = pytest.mark.django_db
ADDRESS = "https://course.example.org/kits/t0ken"


def test_the_secret_is_told_once_and_is_in_no_table():
    secret = make_webhook(f" {ADDRESS} ", ["kit.lost", "nonsense"])
    hook = Webhook.objects.get()
    assert (hook.address, hook.topics) == (ADDRESS, ["kit.lost"])
    assert base64.b64decode(secret.removeprefix("whsec_")) == secret_of(hook)
    assert secret not in str(Webhook.objects.values())
    # The rest of the address may be a secret of the receiver's.
    event = Event.objects.get(chain=f"webhook {hook.pk}")
    assert "course.example.org" in event.text and "t0ken" not in event.text


@pytest.mark.parametrize(
    ("address", "topics", "field"),
    [("http://course.example.org", ["kit.lost"], "address"), (ADDRESS, ["x"], "topics")],
)
def test_what_cannot_be_is_refused_at_its_field(address, topics, field):
    with pytest.raises(Refused) as refusal:
        make_webhook(address, topics)
    assert refusal.value.field == field
    assert not Webhook.objects.exists()


def test_it_pauses_and_goes_on_with_what_waited():
    make_webhook(ADDRESS, ["kit.lost"])
    hook = Webhook.objects.get()
    tell("kit.lost", {}, at=timezone.now())
    WebhookCall.objects.update(attempts=4, next_try_at=timezone.now())
    pause_webhook(hook)
    pause_webhook(hook)
    assert Webhook.objects.get().paused_at
    with pytest.raises(Refused):
        call_again(WebhookCall.objects.get())
    resume_webhook(hook)
    resume_webhook(hook)
    call = WebhookCall.objects.get()
    assert Webhook.objects.get().paused_at is None
    assert (call.attempts, call.next_try_at) == (0, None)
    assert Event.objects.filter(chain=f"webhook {hook.pk}").count() == 3


def test_a_call_is_made_again_under_its_id():
    make_webhook(ADDRESS, ["kit.lost"])
    tell("kit.lost", {}, at=timezone.now())
    before = WebhookCall.objects.get()
    call_again(before)
    assert Event.objects.count() == 1
    WebhookCall.objects.update(state="given_up", attempts=10)
    call_again(before)
    after = WebhookCall.objects.get()
    assert (after.state, after.attempts, after.call_id) == ("waiting", 0, before.call_id)


def test_what_happens_while_it_is_paused_is_told_when_it_goes_on_but_for_what_is_too_old(settings):
    settings.KITDESK_HOOKS_PRIVATE = ["127.0.0.0/8"]
    with running_receiver() as receiver:
        make_webhook(receiver.address, ["kit.lost"])
        hook = Webhook.objects.get()
        pause_webhook(hook)
        now = timezone.now()
        for days in (5, 2, 1):
            tell("kit.lost", {"days": days}, at=now - timedelta(days=days))
        assert make_due_calls() == 0 and receiver.bodies == []
        meanwhile = resume_webhook(hook)
        assert (meanwhile.told, meanwhile.left_out) == (2, 1)
        assert "Left out as older than three days: 1 call." in meanwhile.words
        assert meanwhile.words in Event.objects.latest("pk").text
        assert make_due_calls() == 2
    assert [json.loads(body)["data"]["days"] for body in receiver.bodies] == [2, 1]
    left = WebhookCall.objects.get(state="given_up")
    assert "paused for more than three days" in left.last_words


def test_a_pause_without_end_keeps_no_more_than_three_days():
    make_webhook(ADDRESS, ["kit.lost"])
    pause_webhook(Webhook.objects.get())
    for days in (4, 1):
        tell("kit.lost", {}, at=timezone.now() - timedelta(days=days))
    forget_old_calls()
    assert sorted(WebhookCall.objects.values_list("state", flat=True)) == ["given_up", "waiting"]
    forget_old_calls(timezone.now() + timedelta(days=100))
    assert set(WebhookCall.objects.values_list("state", flat=True)) <= {"given_up"}


def test_a_trial_call_tells_of_nothing_and_goes_where_others_go(settings):
    settings.KITDESK_HOOKS_PRIVATE = ["127.0.0.0/8"]
    with running_receiver() as receiver:
        make_webhook(f"{receiver.address}/kits", ["kit.lost"])
        hook = Webhook.objects.get()
        try_webhook(hook)
        assert make_due_calls() == 1
    (body,) = receiver.bodies
    assert json.loads(body)["type"] == "kitdesk.trial"
    assert json.loads(body)["data"] == {"webhook": hook.pk}
    assert receiver.paths == ["/kits"]
    pause_webhook(hook)
    with pytest.raises(Refused, match="paused"):
        try_webhook(hook)


def test_a_removed_one_is_called_no_more_and_is_gone_after_a_day():
    make_webhook(ADDRESS, ["kit.lost"])
    hook = Webhook.objects.get()
    tell("kit.lost", {}, at=timezone.now())
    remove_webhook(hook)
    remove_webhook(hook)
    assert not webhooks().exists()
    assert make_due_calls() == 0
    for act in (pause_webhook, resume_webhook, try_webhook):
        with pytest.raises(Refused, match="removed"):
            act(hook)
    with pytest.raises(Refused, match="removed"):
        call_again(WebhookCall.objects.get())
    assert Event.objects.filter(chain=f"webhook {hook.pk}").count() == 2
    forget_old_calls()
    assert Webhook.objects.exists()
    forget_old_calls(timezone.now() + timedelta(days=2))
    assert not Webhook.objects.exists() and not WebhookCall.objects.exists()
