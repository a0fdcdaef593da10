"""Access tokens: made, revoked, and when they were last used."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta

from django.contrib.auth.models import User
from django.utils import timezone

from rentals import transaction
from rentals.access_keys import SCOPES, key_digest, new_key
from rentals.dates import short_date
from rentals.errors import Refused
from rentals.models import AccessToken

from .record import Actor, record_token

#: A use is written down once in so long at most.
NOTED_EVERY = timedelta(minutes=10)


@transaction.atomic
def make_access_token(
    name: str,
    scopes: Iterable[str],
    *,
    expires_on: date | None = None,
    actor: Actor = None,
    at: datetime | None = None,
) -> str:
    """A new token for another program. Returns its secret, which is shown this once.

    Raises
    ------
    Refused
        If the name was used before, no scope is given, or its last day is over already.
    """
    at, name = at or timezone.now(), " ".join(name.split())[:60]
    allowed = [scope for scope in SCOPES if scope in set(scopes)]
    if not allowed:
        raise Refused("Choose at least one thing that the token may do.", field="scopes")
    if expires_on is not None and expires_on < timezone.localdate(at):
        raise Refused("This day is over: choose one from today on.", field="expires_on")
    if AccessToken.objects.filter(name=name).exists():
        raise Refused(
            "There was a token of this name already: choose another name, so that events tell the"
            " two apart.",
            field="name",
        )
    key = new_key()
    token = AccessToken.objects.create(
        name=name,
        account=_account_of(name),
        scopes=allowed,
        token_sha256=key_digest(key),
        expires_on=expires_on,
        made_at=at,
        made_by=actor,
    )
    until = f" until {short_date(expires_on)}" if expires_on else ""
    text = f"Access token “{name}” made{until}. It may: {', '.join(allowed)}."
    record_token(token, text, actor=actor, at=at)
    return key


def _account_of(name: str) -> User:
    """The account that events name: no role, no password, closed."""
    account = User(username=f"token {name}", is_active=False)
    account.set_unusable_password()
    account.save()
    return account


@transaction.atomic
def revoke_access_token(
    token: AccessToken, *, actor: Actor = None, at: datetime | None = None
) -> AccessToken:
    """From now on it opens nothing, and no other token takes its name. Safe to repeat."""
    at = at or timezone.now()
    token = AccessToken.objects.select_for_update(of=("self",)).get(pk=token.pk)
    if token.revoked_at is None:
        token.revoked_at = at
        token.save(update_fields=["revoked_at"])
        record_token(token, f"Access token “{token.name}” revoked.", actor=actor, at=at)
    return token


def note_token_used(token: AccessToken, *, at: datetime | None = None) -> None:
    """Remember that it was used, once in ten minutes at most."""
    at, used = at or timezone.now(), token.last_used_at
    if used is None or not timedelta(0) <= at - used < NOTED_EVERY:
        AccessToken.objects.filter(pk=token.pk).update(last_used_at=at)
