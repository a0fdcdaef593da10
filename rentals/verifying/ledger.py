"""Does the ledger still say what the events say, and what was decided on each shortfall?"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Any

from django.db.models import Count, Q

from rentals.accounts import EntryKind
from rentals.actions.ledger import ENTRY_FACTS, facts_of_entry
from rentals.models import OF_A_SHORTFALL, Entry, Event, Practice, Shortfall
from rentals.planning.money import round_money
from rentals.states import UNSETTLED_STATES, ShortfallState

from .chains import Told


def ledger_faults(kits: Collection[int], told: Told) -> Iterator[str]:
    """Sentences for entries of loans of these kits that no event tells as they are, and shortfalls
    whose ledger says something else than their state.
    """
    yield from _entries_against_events(kits, told)
    yield from _shortfalls_against_entries(kits)


def _entries_against_events(kits: Collection[int], told: Told) -> Iterator[str]:
    """Each entry is told once, in the same words; what was taken over has no event."""
    yield from told.twice
    lacking, untold = dict(told.entries), {}
    entries = Entry.objects.filter(taken_over=False, loan__kit__in=kits).order_by("pk")
    rows = entries.values_list("loan__kit__code", "loan__replaces", *ENTRY_FACTS)
    for code, before, *row in rows.iterator(chunk_size=2000):
        on_file = facts_of_entry(*row)
        facts = lacking.pop(on_file["entry"], None)
        if facts is None:
            untold[on_file["entry"]] = code, before, on_file
        elif facts != on_file:
            yield _wrong(code, "its event says otherwise of", on_file["entry"])
    elsewhere = _told_with_the_kit_before({before for _, before, _ in untold.values()} - {None})
    for entry, (code, _, on_file) in untold.items():
        if elsewhere.get(entry) != on_file:
            yield _wrong(code, "no event tells of", entry)
    # A deposit that went over to another kit's loan is told where it came from.
    carried = Entry.objects.filter(pk__in=lacking, loan__replaces__kit__in=kits)
    there = set(carried.values_list("pk", flat=True))
    for lost in lacking.keys() - there:
        yield f"The ledger lacks entry {lost}, of which an event tells."


def _wrong(code: str, says: str, entry: int) -> str:
    return f"{code}: {says} entry {entry} of the ledger."


def _told_with_the_kit_before(before: Collection[int]) -> dict[int, dict[str, Any]]:
    """What is told of entries in the chain of the kit that another one stands in for, by the loans
    that ended so.
    """
    events = Event.objects.filter(loan__in=before).values_list("data", flat=True)
    told = (facts for data in events for facts in data.get("ledger", ()))
    return {facts["entry"]: facts for facts in told}


def _shortfalls_against_entries(kits: Collection[int]) -> Iterator[str]:
    """Whoever pays for a shortfall stands in the ledger with its amount, and nobody else does."""
    state = ShortfallState
    kinds: dict[str, EntryKind] = {
        state.CHARGED: EntryKind.CHARGE,
        state.WAIVED: EntryKind.WAIVED,
    }
    standing = Q(
        entries__reversed_by=None, entries__kind__in=[kind.value for kind in OF_A_SHORTFALL]
    )
    shortfalls = Shortfall.objects.filter(loan__kit__in=kits)
    shortfalls = shortfalls.annotate(standing=Count("entries", filter=standing))
    nobody_pays = [*UNSETTLED_STATES, state.RECOVERED]
    shortfalls = shortfalls.exclude(standing=0, state__in=nobody_pays)
    shortfalls = shortfalls.select_related("loan__kit").prefetch_related("entries__reversed_by")
    for short in shortfalls.iterator(chunk_size=500):
        entries = [
            (entry.kind, entry.amount)
            for entry in short.entries.all()
            if entry.kind in OF_A_SHORTFALL and not hasattr(entry, "reversed_by")
        ]
        yield from _against(short, entries, kinds.get(short.state))


def _against(
    short: Shortfall, entries: list[tuple[str, Any]], kind: EntryKind | None
) -> Iterator[str]:
    first = short.entries.all()[0] if entries else None
    currency = first.currency if first else Practice.current().currency
    due = round_money(short.amount, currency)
    wanted = [(kind.value, due)] if kind and due else []
    if entries != wanted:
        yield (
            f"{short.loan.kit.code}: shortfall {short.pk} is {short.get_state_display()}, its"
            " ledger says otherwise."
        )
