"""Webhooks as the owner's pages show them, and the secret of each."""

from __future__ import annotations

from django.db.models import Count, Q, QuerySet
from django.utils.crypto import salted_hmac

from rentals.models import Webhook, WebhookCall
from rentals.states import CallState

_SALT = "rentals.webhooks"


def secret_of(hook: Webhook) -> bytes:
    """What its calls are signed with: 32 bytes that are in no table."""
    return salted_hmac(_SALT, f"{hook.pk}:{hook.nonce}", algorithm="sha256").digest()


def webhooks() -> QuerySet[Webhook]:
    """All, the newest first, each with how many calls wait and were given up."""
    counted = Webhook.standing.annotate(
        waiting=Count("calls", filter=Q(calls__state=CallState.WAITING)),
        given_up=Count("calls", filter=Q(calls__state=CallState.GIVEN_UP)),
    )
    return counted.order_by("-made_at", "-pk")


def calls_of(hook: Webhook) -> QuerySet[WebhookCall]:
    """Its calls, the newest first."""
    return hook.calls.all()
