"""Where access tokens and webhooks are let go; see test_losing_acts.py beside it."""

from django.utils import timezone

from rentals.actions.access_tokens import make_access_token
from rentals.actions.tell_webhooks import tell
from rentals.actions.webhooks import make_webhook
from rentals.models import AccessToken, Webhook, WebhookCall

Place = tuple[list[object], list[str]]


def token_page() -> Place:
    make_access_token("Bench computer", ["kits:read"])
    return [AccessToken.objects.get().pk], ["is refused from now on"]


def webhook_page() -> Place:
    make_webhook("https://course.example.org/kits", ["kit.dispatched"])
    return [Webhook.objects.get().pk], ["is told of nothing", "kept for three days"]


def webhook_remove_page() -> Place:
    make_webhook("https://course.example.org/kits", ["kit.dispatched"])
    tell("kit.dispatched", {"kit": "K0001X"}, at=timezone.now())
    return [Webhook.objects.get().pk], ["thrown away: 1 call.", "good for nothing any more"]


def webhook_call_page() -> Place:
    make_webhook("https://course.example.org/kits", ["kit.dispatched"])
    tell("kit.dispatched", {"kit": "K0001X"}, at=timezone.now())
    return [WebhookCall.objects.get().pk], ["under the same id"]
