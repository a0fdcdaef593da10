"""May access tokens do what their events say?"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from typing import Any

from rentals.event_facts import OddFact, facts_of, row_said
from rentals.models import AccessToken, Event


def token_faults() -> Iterator[str]:
    """Sentences for tokens with other scopes, another last day or another standing than their last
    event gave them.
    """
    events = Event.objects.filter(chain__startswith="token ").order_by("pk")
    given: dict[int, dict[str, Any]] = {}
    for data in facts_of(events):
        with suppress(OddFact):
            given[row_said(data.get("token"))] = data
    for token in AccessToken.objects.order_by("pk"):
        if token.facts != given.get(token.pk):
            yield (
                f"Access token {token.name}: what it may do, until when, or whether it is revoked"
                " is not what its events say. Revoke it and make another one."
            )
