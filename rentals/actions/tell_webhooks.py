"""Telling programs elsewhere what has happened: a row for each, in the act's own transaction."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from rentals.lifecycle import Verb
from rentals.models import Event, Webhook, WebhookCall
from rentals.post.webhook import TRIAL, body_of

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
    """Queue a call for every webhook that wants the topic; that of a paused one is kept for it.
    `data` holds ids and codes alone.
    """
    tell_all(topic, [data], at=at)


def tell_all(topic: str, told: Sequence[dict[str, Any]], *, at: datetime) -> None:
    """The same of several things of one topic, in their order."""
    if not told:
        return
    hooks = Webhook.standing.values_list("pk", "topics")
    _queue([pk for pk, topics in hooks if topic in topics], topic, told, at)


def tell_trial(hook: Webhook, *, at: datetime) -> None:
    """Queue a call that tells of nothing: whoever makes a receiver sees whether it comes."""
    _queue([hook.pk], TRIAL, [{"webhook": hook.pk}], at)


def _queue(hooks: Sequence[int], topic: str, told: Sequence[dict[str, Any]], at: datetime) -> None:
    if not hooks:
        return
    calls = [
        WebhookCall(
            webhook_id=pk,
            call_id=f"msg_{secrets.token_hex(16)}",
            topic=topic,
            body=body_of(topic, at, data),
            made_at=at,
        )
        for data in told
        for pk in hooks
    ]
    WebhookCall.objects.bulk_create(calls)
    call_soon()
