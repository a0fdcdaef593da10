"""Does the ledger still say what the events say, and what was decided on each shortfall?"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from contextlib import suppress
from decimal import Decimal
from functools import lru_cache
from typing import Any

from rentals.accounts import EntryKind
from rentals.actions.ledger import ENTRY_FACTS, facts_of_entry
from rentals.event_facts import OddFact, entry_said, facts_of, list_said
from rentals.models import OF_A_SHORTFALL, Entry, Event, Practice, Shortfall
from rentals.plain_rows import plain_rows, reader
from rentals.planning.money import round_money
from rentals.states import UNSETTLED_STATES, ShortfallState

from .chains import Told

#: So many amounts are kept as Django reads them.
_AMOUNTS = 5000
_AMOUNT = ENTRY_FACTS.index("amount")
_Booked = tuple[str, Decimal, str, int | None]


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
    # Few amounts stand in many entries.
    amount_of = lru_cache(_AMOUNTS, typed=True)(reader(Entry._meta.get_field("amount")))
    for code, before, *row in plain_rows(rows):
        row[_AMOUNT] = amount_of(row[_AMOUNT])
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
    told: dict[int, dict[str, Any]] = {}
    for data in facts_of(Event.objects.filter(loan__in=before).order_by("pk")):
        with suppress(OddFact):
            told.update(map(entry_said, list_said(data.get("ledger", []))))
    return told


def _shortfalls_against_entries(kits: Collection[int]) -> Iterator[str]:
    """Whoever pays for a shortfall stands in the ledger with its amount, and nobody else does."""
    state = ShortfallState
    kinds: dict[str, EntryKind] = {
        state.CHARGED: EntryKind.CHARGE,
        state.WAIVED: EntryKind.WAIVED,
    }
    nobody_pays = [*UNSETTLED_STATES, state.RECOVERED]
    entries = _entries_of_shortfalls(kits)
    shortfalls = Shortfall.objects.filter(loan__kit__in=kits)
    rows = shortfalls.values_list("pk", "state", "amount", "loan__kit__code")
    for short, stands, amount, code in rows.iterator(chunk_size=2000):
        booked = entries.get(short, [])
        standing = [
            (kind, amount)
            for kind, amount, _, reversed_by in booked
            if kind in OF_A_SHORTFALL and reversed_by is None
        ]
        if not standing and stands in nobody_pays:
            continue
        currency = booked[0][2] if standing else Practice.current().currency
        due, pays = round_money(amount, currency), kinds.get(stands)
        if standing != ([(pays.value, due)] if pays and due else []):
            words = dict(ShortfallState.choices).get(stands, stands)
            yield f"{code}: shortfall {short} is {words}, its ledger says otherwise."


def _entries_of_shortfalls(kits: Collection[int]) -> dict[int, list[_Booked]]:
    """Kind, amount, currency and what took it back of each entry, by shortfall, in their order."""
    found = Entry.objects.filter(shortfall__loan__kit__in=kits)
    rows = found.values_list("shortfall", "kind", "amount", "currency", "reversed_by")
    entries: dict[int, list[_Booked]] = {}
    for short, kind, amount, currency, reversed_by in rows.iterator(chunk_size=2000):
        assert short is not None
        entries.setdefault(short, []).append((kind, amount, currency, reversed_by))
    return entries
