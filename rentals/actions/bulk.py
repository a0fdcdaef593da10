"""One act on several things: each by itself, so that one that refuses keeps none of the others."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Generic, TypeVar

from django.db import connection

from rentals import transaction
from rentals.errors import Refused

from .lock_order import lock_things

Thing = TypeVar("Thing")


@dataclass(frozen=True)
class BulkOutcome(Generic[Thing]):
    """What an act was done with, and the sentences of those that refused."""

    done: tuple[Thing, ...]
    refusals: tuple[str, ...]


def for_each(things: Iterable[Thing], act: Callable[[Thing], object]) -> BulkOutcome[Thing]:
    """Carry out one action with each thing, every one in a transaction of its own.

    Raises
    ------
    Refused
        If not one of them could be done: the sentences of all.
    """
    things = list(things)
    if connection.in_atomic_block:
        # One form, one transaction: what moves last is locked before the first one moves.
        lock_things(things)
    done, refusals = [], []
    for thing in things:
        try:
            with transaction.atomic():
                act(thing)
        except Refused as refusal:
            refusals.append(refusal.sentence)
        else:
            done.append(thing)
    if not done:
        raise Refused(" ".join(refusals) or "Nothing was ticked.")
    return BulkOutcome(tuple(done), tuple(refusals))
