"""How often something may be tried from one place. Counted in the database cache, like the tries to
sign in: for all processes together, and beyond a restart.
"""

from __future__ import annotations

from dataclasses import dataclass
from time import time

from allauth.account.adapter import get_adapter
from allauth.core.internal.ratelimit import truncate_ip
from django.core.cache import cache
from django.http import HttpRequest


@dataclass(frozen=True)
class Throttle:
    """At most so many tries in so many seconds from one source."""

    name: str
    most: int
    seconds: int

    def is_over(self, source: str) -> bool:
        """Whether all tries of a source are used up; only reads."""
        return int(cache.get(self._key(source), 0)) >= self.most

    def count(self, source: str) -> None:
        """Count one try."""
        key = self._key(source)
        tries = int(cache.get(key, 0))
        if tries < self.most:
            cache.set(key, tries + 1, self.seconds)

    def _key(self, source: str) -> str:
        window = int(time() // self.seconds)
        return f"throttle:{self.name}:{source}:{window}"


def address_of(request: HttpRequest) -> str:
    """Where a request comes from, as the sign-in counts it: behind a trusted proxy the visitor's
    own address, and of IPv6 the network.
    """
    return truncate_ip(get_adapter().get_client_ip(request))
