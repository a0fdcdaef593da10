"""May people do what the events of their accounts say?"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress

from django.contrib.auth import get_user_model

from rentals.event_facts import OddFact, facts_of, row_said, words_said
from rentals.models import Event


def role_faults() -> Iterator[str]:
    """Sentences for accounts that hold other roles than they were last given. An account that is
    older than the roles has no such event.
    """
    events = Event.objects.filter(chain__startswith="account ").order_by("pk")
    given: dict[int, list[str]] = {}
    for data in facts_of(events):
        with suppress(OddFact):
            given[row_said(data.get("account"))] = words_said(data.get("roles"))
    accounts = get_user_model()._default_manager.filter(pk__in=given).prefetch_related("groups")
    for account in accounts.order_by("pk"):
        held = {group.name for group in account.groups.all()} - {"owner"}
        if account.is_superuser:
            held.add("owner")
        if held != set(given[account.pk]):
            has = f"it is {', '.join(sorted(held))}" if held else "it has no role"
            yield (
                f"Account {account.get_username()}: {has}; its events say"
                f" {', '.join(given[account.pk])}."
            )
