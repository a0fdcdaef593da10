"""Following chains of events: does each event follow from the one before, and what do they say?"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from hashlib import sha256
from itertools import groupby
from operator import itemgetter
from typing import Any

from django.db.models import F, Field, Func, QuerySet
from django.utils.dateparse import parse_datetime

from rentals.actions.record import event_line, moment_text, packed_data, words_hash
from rentals.event_facts import (
    DATA,
    NO_JSON,
    OddFact,
    counts_said,
    entry_said,
    facts_of,
    flag_said,
    list_said,
    pairs_said,
    row_said,
    said_by,
    word_said,
)
from rentals.lifecycle import NotAllowed, Standing, Verb, follow
from rentals.models import Event
from rentals.packed import quoted
from rentals.plain_rows import plain_rows

#: By the number of an event, as text: digests of what an erasure has put in place of its words.
Erasures = dict[str, set[str]]


class _KeptMoment(Func):
    """A moment as the database keeps it. That of SQLite is text in UTC, quicker to look at than a
    moment; its driver would make one without a zone of the bare column.
    """

    template = "%(expressions)s"

    def as_sqlite(self, compiler: Any, connection: Any, **context: Any) -> Any:
        return self.as_sql(compiler, connection, template="(%(expressions)s || '')", **context)


_AT = _KeptMoment(F("at"), output_field=Field())
_COLUMNS = (
    "chain",
    "number",
    _AT,
    "verb",
    "words_hash",
    DATA,
    "actor_name",
    "kit",
    "loan",
    "part",
    "previous_hash",
    "hash",
    "text",
    "words_salt",
    "pk",
)
_VERBS = {verb.value: verb for verb in Verb}
_BEGINNING = Standing()
#: By how long a moment of SQLite's is: what it lacks of one to the microsecond.
_USUAL = {19: ".000000+00:00", 26: "+00:00"}
Link = tuple[Any, ...]


@dataclass
class Told:
    """What events of some chains say of other rows; the last word on each counts."""

    ends: dict[str, tuple[Standing, int, str]] = field(default_factory=dict)
    steps: dict[int, bool] = field(default_factory=dict)
    arrivals: dict[int, set[tuple[int, ...]]] = field(default_factory=dict)
    reports: dict[int, tuple[str, str]] = field(default_factory=dict)
    swaps: dict[int, set[str]] = field(default_factory=dict)
    slips: dict[int, str] = field(default_factory=dict)
    replaced_by: dict[int, int | None] = field(default_factory=dict)
    entries: dict[int, dict[str, Any]] = field(default_factory=dict)
    twice: list[str] = field(default_factory=list)

    def hear(self, chain: str, loan: int | None, data: dict[str, Any]) -> None:
        """Take in what one event says beside its words. Raises OddFact, with what came before it
        taken in, for what no event of Kitdesk's says.
        """
        fact = data.get
        if "return_step" in data:
            self.steps[row_said(data["return_step"])] = flag_said(fact("done"))
        if "arrival" in data and loan is not None:
            self.arrivals[loan] = {counts_said(line) for line in list_said(data["arrival"])}
        if "fault_report" in data:
            self.reports[row_said(data["fault_report"])] = (word_said(fact("fault_state")), chain)
        if "replacement" in data:
            swap, act = row_said(data["replacement"]), word_said(fact("act"))
            self.slips[swap] = word_said(fact("slip"))
            self.swaps.setdefault(swap, set()).add(act)
        if "replaced_by" in data and loan is not None:
            other = data["replaced_by"]
            self.replaced_by[loan] = None if other is None else row_said(other)
        for entry, facts in map(entry_said, list_said(fact("ledger", []))):
            if entry in self.entries:
                self.twice.append(f"{chain}: entry {entry} of the ledger is told twice.")
            self.entries[entry] = facts


def erased_words() -> Erasures:
    """Read once, where an event has lost its own words."""
    erased: Erasures = {}
    for data in facts_of(Event.objects.filter(verb=Verb.ERASED)):
        with suppress(OddFact):
            for number, digest in pairs_said(data.get("words", {})):
                erased.setdefault(number, set()).add(digest)
    return erased


class _Quotes(dict[str, str]):
    """Names in quotes, as JSON has them. Few stand in many events."""

    def __missing__(self, name: str) -> str:
        self[name] = quoted(name)
        return self[name]


class _Life(dict[tuple[int, str], Standing]):
    """The table of a kit's life: what comes after a standing (by where it lies, for all that were
    given are kept) by a verb. Kits stand in few ways, so each move is worked out once.
    """

    def __init__(self) -> None:
        self._known = {_BEGINNING: _BEGINNING}

    def after(self, standing: Standing, verb: str) -> Standing:
        """As `follow`, for a standing that was given here; KeyError for no verb."""
        then = follow(standing, _VERBS[verb])
        return self.setdefault((id(standing), verb), self._known.setdefault(then, then))


def follow_chains(
    events: QuerySet[Event], erased: Callable[[], Erasures], told: Told
) -> Iterator[str]:
    """Sentences for what does not hold in whole chains; `told` takes in what they say."""
    links = plain_rows(events.order_by("chain", "number").values_list(*_COLUMNS))
    life, quotes = _Life(), _Quotes()
    for chain, of_chain in groupby(links, key=itemgetter(0)):
        yield from _follow(chain, of_chain, erased, told, life, quotes)


def _follow(
    chain: str,
    links: Iterable[Link],
    erased: Callable[[], Erasures],
    told: Told,
    life: _Life,
    quotes: _Quotes,
) -> Iterator[str]:
    standing, broken = _BEGINNING, False
    number, previous = 0, ""
    name = quoted(chain)
    # Spelt out, and as few calls as can be: this is gone through for every event there is.
    for link in links:
        _, nth, at, verb, words, data, actor, kit, loan, part, before, digest, text, salt, pk = link
        odd = False
        if data == "{}":
            said, packed = None, data
        else:
            try:
                said = said_by(data)
                packed = "{}" if said == {} else packed_data(said)
                if isinstance(said, dict):
                    told.hear(chain, loan, said)
            except NO_JSON:
                odd, packed = True, "{}"
        line = event_line(
            quotes[actor],
            _moment(at),
            name,
            packed,
            kit,
            loan,
            nth,
            part,
            quoted(before),
            quotes[str(verb)],
            quoted(words),
        )
        if nth != number + 1:
            yield f"{chain}: event {number + 1} is missing before event {nth}."
        if before != previous:
            yield f"{chain}: event {nth} does not follow from the one before it."
        if (
            odd
            or sha256(line.encode()).hexdigest() != digest
            or (words_hash(salt, text) != words if salt else not _erased(text, pk, erased))
        ):
            yield f"{chain}: event {nth} was changed after it was written."
        number, previous = nth, digest
        if kit is None or broken:
            continue
        try:
            standing = life.get((id(standing), verb)) or life.after(standing, verb)
        except (NotAllowed, KeyError) as impossible:
            unknown = f"{verb!r} is no verb"
            why = unknown if isinstance(impossible, KeyError) else impossible
            yield f"{chain}: event {nth} ({verb}) cannot be: {why}."
            broken = True
    told.ends[chain] = (standing, number, previous)


def _moment(at: datetime | str) -> str:
    """A moment as an event's hash covers it."""
    if not isinstance(at, str):
        return moment_text(at)
    if len(at) in _USUAL and at[10] == " ":
        return f"{at[:10]}T{at[11:]}{_USUAL[len(at)]}"
    parsed = parse_datetime(at)
    return at if parsed is None else moment_text(parsed.replace(tzinfo=parsed.tzinfo or UTC))


def _erased(text: str, pk: int, erased: Callable[[], Erasures]) -> bool:
    """Whether words without a salt are those of an erasure on file."""
    return words_hash("", text) in erased().get(str(pk), ())
