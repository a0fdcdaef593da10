"""Telling programs elsewhere what has happened: a row for each, in the act's own transaction."""

from __future__ import annotations

import secrets
from datetime import datetime
from typing import Any

from rentals.lifecycle import Verb
from rentals.models import Event, Webhook, WebhookCall
from rentals.post.webhook import body_of

from .send_webhooks import call_soon

_TOPICS = {
    Verb.DISPATCHED: "kit.dispatched",
    Verb.RECALLED: "kit.recalled",
    Verb.ARRIVED: "kit.returned",
    Verb.CHECKED: "kit.checked",
    Verb.LOST: "kit.lost",
    Verb.CLEARED: "kit.cleared",
}


def tell_of_event(event: Event) -> None:
    """Tell of an event of a kit, if it is one of those that are told."""
    topic = _TOPICS.get(Verb(event.verb))
    if topic is None:
        return
    data = {"kit": event.chain, "event": event.number, "loan": event.loan_id}
    tell(topic, data, at=event.at)


def tell(topic: str, data: dict[str, Any], *, at: datetime) -> None:
    """Queue a call for every webhook that wants the topic and is not paused. `data` holds ids and
    codes alone.
    """
    hooks = Webhook.objects.filter(paused_at=None).values_list("pk", "topics")
    wanting = [pk for pk, topics in hooks if topic in topics]
    if not wanting:
        return
    body = body_of(topic, at, data)
    calls = [
        WebhookCall(
            webhook_id=pk,
            call_id=f"msg_{secrets.token_hex(16)}",
            topic=topic,
            body=body,
            made_at=at,
        )
        for pk in wanting
    ]
    WebhookCall.objects.bulk_create(calls)
    call_soon()
