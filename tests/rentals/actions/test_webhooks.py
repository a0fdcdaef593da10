"""Webhooks are made, paused, resumed, and told again; each an event."""

import base64

import pytest
from django.utils import timezone

from rentals.actions.tell_webhooks import tell
from rentals.actions.webhooks import call_again, make_webhook, pause_webhook, resume_webhook
from rentals.errors import Refused
from rentals.models import Event, Webhook, WebhookCall
from rentals.selectors.webhooks import secret_of

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
