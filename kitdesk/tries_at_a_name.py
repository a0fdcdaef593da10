"""Wrong passwords for one name, from wherever they came: whether it is under attack, and what its
owner is told of it after signing in.
"""

from __future__ import annotations

import hashlib
import time
from datetime import UTC, datetime

from django.contrib import messages
from django.contrib.auth import get_user_model
from django.contrib.auth.base_user import AbstractBaseUser
from django.core.cache import cache
from django.http import HttpRequest
from django.utils import timezone

from kitdesk.throttle import REMEMBERED

#: Wrong tries within a day, and addresses they come from, that no forgetful person makes.
MANY_TRIES = 20
MANY_ADDRESSES = 3
#: Addresses kept of one name: beyond them it is "more than".
MOST_ADDRESSES = 200


def note_wrong(name: str, address: str) -> None:
    """One more wrong password for this name. Two at once may count as one: it is a warning, not
    the wait.
    """
    count, addresses, _ = cache.get(_key(name), (0, (), 0.0))
    mark = hashlib.sha256(address.encode()).hexdigest()[:12]
    if mark not in addresses:
        addresses = (*addresses[-MOST_ADDRESSES:], mark)
    cache.set(_key(name), (count + 1, addresses, time.time()), REMEMBERED)


def under_attack(name: str) -> bool:
    """Whether so many wrong passwords came from so many places that each place has one try."""
    count, addresses, _ = cache.get(_key(name), (0, (), 0.0))
    return count >= MANY_TRIES and len(addresses) >= MANY_ADDRESSES


def tell(request: HttpRequest, user: AbstractBaseUser) -> None:
    """Say to somebody who has just signed in what was tried with their name; to the owner, with any
    name.
    """
    names = [user.get_username()]
    if getattr(user, "is_superuser", False):
        names = list(get_user_model().objects.values_list("username", flat=True))
    for name in names:
        count, addresses, last = cache.get(_key(name), (0, (), 0.0))
        if count < MANY_TRIES:
            continue
        when = timezone.localtime(datetime.fromtimestamp(last, UTC))
        places = f"{len(addresses)} addresses" if len(addresses) > 1 else "one address"
        messages.warning(
            request,
            f"{count} wrong passwords were tried for “{name}” from {places}, the last on"
            f" {when:%d %B at %H:%M}. If that was not you, a longer password and a second step"
            " (Setup, Account) keep strangers out.",
        )
        cache.delete(_key(name))


def _key(name: str) -> str:
    return "tried:" + hashlib.sha256(name.casefold().encode()).hexdigest()
