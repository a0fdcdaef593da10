"""Growing waits after wrong tries: counted in the cache, which all processes share.

A try counts as wrong from the moment it begins, so that a hundred at once get no further than a
hundred in a row; the right password takes it back.
"""

import time
from dataclasses import dataclass

from django.core.cache import cache

#: Seconds after the last wrong try at which everything is forgotten.
REMEMBERED = 24 * 3600
#: Tries that begin in the same moment are told apart at most so often; then it is a wait.
_AT_ONCE = 64
#: Seconds by which the clocks of two machines may differ.
_CLOCKS_APART = 60


@dataclass(frozen=True)
class Patience:
    """How many wrong tries cost nothing, and what those after them do.

    The first wait is ``first`` seconds, each one after it twice as long, ``most`` at the longest.
    """

    free: int
    first: int
    most: int

    def wait_after(self, wrong: int) -> int:
        """Seconds from the last of so many wrong tries to the next one allowed."""
        if wrong < self.free:
            return 0
        doublings = min(wrong - self.free, 30)
        return int(min(self.first * 2**doublings, self.most))


def begin_try(key: str, patience: Patience) -> int:
    """Let a try begin and count it as wrong, or say how many seconds it has still to wait."""
    count = wrong_tries(key)
    for _ in range(_AT_ONCE):
        wait = _last(key) + patience.wait_after(count) - time.time()
        if wait > 0:
            return max(int(wait), 1)
        # Only one of those that come at once can add this row.
        if cache.add(f"{key}:{count + 1}", True, REMEMBERED):
            cache.set(key, (count + 1, time.time()), REMEMBERED)
            return 0
        count += 1
    return patience.first


def wrong_tries(key: str) -> int:
    """How many tries have begun and were not taken back."""
    count, _ = cache.get(key, (0, 0.0))
    return int(count)


def take_back(key: str) -> None:
    """One try was right after all."""
    count, last = cache.get(key, (0, 0.0))
    if count:
        cache.delete(f"{key}:{count}")
        cache.set(key, (count - 1, last), REMEMBERED)


def forget(key: str) -> None:
    """All tries of this key are forgotten."""
    count = wrong_tries(key)
    cache.delete_many([key, *(f"{key}:{number}" for number in range(1, count + _AT_ONCE + 1))])


def _last(key: str) -> float:
    """When the last try was. One that is dated ahead was before the clock was set back: it counts
    as of now, so that its wait ends.
    """
    count, last = cache.get(key, (0, 0.0))
    now = time.time()
    if last > now + _CLOCKS_APART:
        cache.set(key, (count, now), REMEMBERED)
        return now
    return float(last)
