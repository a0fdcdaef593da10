"""The secret of a webhook, and what waits for each."""

import pytest
from django.utils import timezone

from rentals.actions.tell_webhooks import tell
from rentals.actions.webhooks import make_webhook
from rentals.models import Webhook, WebhookCall
from rentals.selectors.webhooks import calls_of, secret_of, webhooks

pytestmark = pytest.mark.django_db


def test_each_has_its_secret_and_its_calls(settings):
    for _ in range(2):
        make_webhook("https://course.example.org/", ["kit.lost"])
    tell("kit.lost", {}, at=timezone.now())
    tell("kit.lost", {}, at=timezone.now())
    first, second = Webhook.objects.all()
    WebhookCall.objects.filter(pk=calls_of(first)[0].pk).update(state="given_up")
    counts = {hook.pk: (hook.waiting, hook.given_up) for hook in webhooks()}
    assert counts == {first.pk: (1, 1), second.pk: (2, 0)}
    assert len(secret_of(first)) == 32 and secret_of(first) != secret_of(second)
    before = secret_of(first)
    settings.SECRET_KEY = "another key" * 5
    assert secret_of(first) != before
