"""The one order in which acts lock rows, so that two acts never wait for each other:

1. captures, kit types, runs,
2. kits,
3. enrolments, then students,
4. loans, parts and what hangs on them,
5. stock items,
6. mails,
7. last of all the head of a log.

Rows of one table are locked by number, whatever order a form or a list names them in. An act that
moves several kits locks all of them before the first one moves. Mails are let go without a look at
their loan's row; but one that is saved twice looks its loan up again when it commits (PostgreSQL),
so loans are locked with `no_key`, which lets that through.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, TypeVar

from django.db.models import Model, QuerySet

from rentals.models import Kit, Loan, Message, Part
from rentals.states import UNSENT_MAILS

Row = TypeVar("Row", bound=Model)


def lock_in_order(rows: QuerySet[Row]) -> list[Row]:
    """The rows, locked by their numbers until the transaction ends."""
    return list(rows.select_for_update(of=("self",), no_key=True).order_by("pk"))


def lock_kits(numbers: Iterable[int]) -> dict[int, Kit]:
    """Kits by their numbers, with their types, locked until the transaction ends."""
    kits = Kit.objects.select_related("kit_type").filter(pk__in=set(numbers))
    return {kit.pk: kit for kit in lock_in_order(kits)}


def lock_things(things: Iterable[Any]) -> None:
    """Lock the kits and parts of a list that one act goes through; of loans, their kits, themselves
    and their mails that have not left.
    """
    things = list(things)
    homes = {thing.pk if isinstance(thing, Kit) else thing.kit_id for thing in things}
    lock_kits(homes - {None})
    parts = [thing.pk for thing in things if isinstance(thing, Part)]
    lock_in_order(Part.objects.filter(pk__in=parts))
    loans = [thing.pk for thing in things if isinstance(thing, Loan)]
    if loans:
        lock_in_order(Loan.objects.filter(pk__in=loans).only("pk"))
        mails = Message.objects.filter(loan__in=loans, state__in=UNSENT_MAILS)
        lock_in_order(mails.only("pk"))
