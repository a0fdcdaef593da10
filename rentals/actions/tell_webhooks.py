"""Telling programs elsewhere what has happened: a row for each, in the act's own transaction."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Sequence
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


def tell_of_events(events: Sequence[Event]) -> None:
    """Tell of events of kits, in their order, as far as they are of those that are told."""
    told = [(topic, event) for event in events if (topic := _TOPICS.get(Verb(event.verb)))]
    if not told:
        return
    hooks = _hooks()
    _queue(
        _call(pk, topic, event.at, _facts(event))
        for topic, event in told
        for pk, topics in hooks
        if topic in topics
    )


def _facts(event: Event) -> dict[str, Any]:
    return {"kit": event.chain, "event": event.number, "loan": event.loan_id}


def tell(topic: str, data: dict[str, Any], *, at: datetime) -> None:
    """Queue a call for every webhook that wants the topic; that of a paused one is kept for it.
    `data` holds ids and codes alone.
    """
    tell_all(topic, [data], at=at)


def tell_all(topic: str, told: Sequence[dict[str, Any]], *, at: datetime) -> None:
    """The same of several things of one topic, in their order."""
    if not told:
        return
    hooks = [pk for pk, topics in _hooks() if topic in topics]
    _queue(_call(pk, topic, at, data) for data in told for pk in hooks)


def tell_trial(hook: Webhook, *, at: datetime) -> None:
    """Queue a call that tells of nothing: whoever makes a receiver sees whether it comes."""
    _queue([_call(hook.pk, TRIAL, at, {"webhook": hook.pk})])


def _hooks() -> list[tuple[int, list[str]]]:
    return list(Webhook.standing.values_list("pk", "topics"))


def _call(hook: int, topic: str, at: datetime, data: dict[str, Any]) -> WebhookCall:
    return WebhookCall(
        webhook_id=hook,
        call_id=f"msg_{secrets.token_hex(16)}",
        topic=topic,
        body=body_of(topic, at, data),
        made_at=at,
    )


def _queue(calls: Iterable[WebhookCall]) -> None:
    if calls := list(calls):
        WebhookCall.objects.bulk_create(calls)
        call_soon()
