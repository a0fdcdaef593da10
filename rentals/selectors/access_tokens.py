"""Access tokens: the list of them, and the one that a secret belongs to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import F, QuerySet
from django.utils import timezone

from rentals.access_keys import SCOPES, is_key, key_digest
from rentals.models import AccessToken, Event


def token_with(key: str) -> AccessToken | None:
    """The token that a secret belongs to, in force or not; None where there is none."""
    if not is_key(key):
        return None
    return (
        AccessToken.objects.select_related("account").filter(token_sha256=key_digest(key)).first()
    )


def access_tokens() -> QuerySet[AccessToken]:
    """All that were ever made: those in force first, then the newest."""
    tokens = AccessToken.objects.select_related("made_by")
    return tokens.order_by(F("revoked_at").asc(nulls_first=True), "-made_at", "-pk")


@dataclass(frozen=True)
class TokenLine:
    """A token as the list shows it. `standing` is empty while it is in force."""

    token: AccessToken
    may: list[str]
    standing: str


def token_lines(tokens: Iterable[AccessToken]) -> list[TokenLine]:
    """Lines of a page of tokens."""
    today = timezone.localdate()
    return [
        TokenLine(
            token, [SCOPES.get(scope, scope) for scope in token.scopes], standing_of(token, today)
        )
        for token in tokens
    ]


def standing_of(token: AccessToken, today: date) -> str:
    """Why a token opens nothing, in one word; empty while it does."""
    if token.revoked_at is not None:
        return "revoked"
    return "expired" if token.has_expired(today) else ""


def token_events(most: int) -> list[Event]:
    """The newest events of tokens."""
    chains = [f"token {token}" for token in AccessToken.objects.values_list("pk", flat=True)]
    events = Event.objects.filter(chain__in=chains)
    return list(events.order_by("-at", "-pk")[:most])
