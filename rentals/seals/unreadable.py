"""Values that no act writes and that cannot even be read: bytes that are no text, broken JSON,
words where a number belongs. SQLite keeps them as they are.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from django.db import OperationalError
from django.db.models import QuerySet

#: Stands for the digest of a row that cannot be read.
UNREADABLE = "cannot be read"
_AT_ONCE = 2000
#: What reading such a value raises; `is_unreadable` tells it from the same of other causes.
SIGNS = (ValueError, TypeError, ArithmeticError, OperationalError)


def rows_that_can_be_read(
    found: QuerySet[Any], digested: Callable[[QuerySet[Any]], Iterator[tuple[int, str]]]
) -> Iterator[tuple[int, str]]:
    """What `digested` says of the rows, by number, and `UNREADABLE` of those that it fails at."""
    found = found.order_by("pk")
    rest = found
    while True:
        last = None
        try:
            for last, digest in digested(rest):
                yield last, digest
            return
        except SIGNS as problem:
            if not is_unreadable(problem):
                raise
        if last is not None:
            rest = found.filter(pk__gt=last)
        # Somewhere in the next piece: each of its rows by itself.
        numbers = list(rest.values_list("pk", flat=True)[:_AT_ONCE])
        for number in numbers:
            yield number, _digest_of(found.filter(pk=number), digested)
        rest = found.filter(pk__gt=numbers[-1])


def _digest_of(
    row: QuerySet[Any], digested: Callable[[QuerySet[Any]], Iterator[tuple[int, str]]]
) -> str:
    try:
        return next(digested(row))[1]
    except SIGNS as problem:
        if not is_unreadable(problem):
            raise
    return UNREADABLE


def is_unreadable(problem: BaseException) -> bool:
    """Whether a value, not the database, is what is wrong."""
    return not isinstance(problem, OperationalError) or "decode" in str(problem).lower()
