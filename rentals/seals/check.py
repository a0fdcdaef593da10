"""Is the log whole, and are the protected rows as its last line about each says?"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from itertools import chain, groupby
from operator import itemgetter

from rentals.lifecycle import Verb
from rentals.models import Event, LogHead, LogLine
from rentals.store_away import StoreAway

from .chain import START, TAKEN_ON, LogFact, head_of_log, key_mark, line_mac
from .tables import SealedTable, log_key, sealed_tables

_CHUNK = 5000
#: After so many the log as a whole is what is wrong.
_MOST_LINES = 20
OTHER_KEY = (
    "The log was written with another key than this desk has now. Put the old one back (the file"
    " log.key, or KITDESK_LOG_KEY). Where it is lost, take the log on with this one:"
    " `python3 manage.py verify --take-on-key`."
)


def log_faults(heads: Mapping[int, str]) -> Iterator[str]:
    """Sentences for lines that were changed, cut off or written anew, and for rows that are not as
    the log has them. `heads` are those that were told: number to code.
    """
    yield from line_faults(heads)
    tables = sealed_tables()
    if key_is_known():
        yield from chain.from_iterable(row_faults(table) for table in tables)
    else:
        yield OTHER_KEY
    yield from chain.from_iterable(file_faults(table) for table in tables if table.file)


def key_is_known() -> bool:
    """Whether the log was begun with the key that this desk has, or its owner took that on."""
    mark = key_mark(log_key())
    marks = LogLine.objects.filter(table__in=[START, TAKEN_ON]).order_by("position")
    last, taken_on = "", True
    for position, kind, digest in marks.values_list("position", "table", "digest"):
        taken_on = kind == TAKEN_ON or position == 1
        last = digest
    return taken_on and last in (mark, "") and head_of_log().key_mark in (mark, "")


def line_faults(heads: Mapping[int, str]) -> Iterator[str]:
    """The same for the lines alone. Those of a key that this desk has no more are only counted."""
    key = log_key()
    mark, foreign = key_mark(key), False
    number, previous, wrong = 0, "", 0
    lines = LogLine.objects.order_by("position")
    values = lines.values_list("position", "mac", "table", "row", "digest")
    for position, mac, table, row, digest in values.iterator(chunk_size=_CHUNK):
        fact = LogFact(table, row, digest)
        if fact.table == START:
            foreign = fact.digest != mark
        if position != number + 1:
            yield f"The log lacks line {number + 1} before line {position}."
        if not foreign and line_mac(key, previous, position, fact) != mac:
            wrong += 1
            if wrong <= _MOST_LINES:
                yield f"Line {position} of the log was changed, or what stood before it."
        if heads.get(position, mac) != mac:
            yield f"The log was written anew: line {position} is not the one that was told."
        number, previous = position, mac
    if wrong > _MOST_LINES:
        yield f"So were {wrong - _MOST_LINES} more of its lines."
    yield from _end_faults(head_of_log(), number, previous, heads)


def _end_faults(head: LogHead, number: int, mac: str, heads: Mapping[int, str]) -> Iterator[str]:
    if (head.number, head.mac) != (number, mac):
        yield f"The log ends at line {number}, its head says {head.number}."
    last = max(heads, default=0)
    if last > number:
        yield f"The end of the log was cut off: line {last} was told, it ends at {number}."


def row_faults(table: SealedTable) -> Iterator[str]:
    """Sentences for rows of one table that are otherwise than the log says, gone, or unknown to it.
    Both sides are read in the order of the rows, side by side: memory stays flat.
    """
    sealed, rows = _last_digests(table), table.digests()
    wanted, found = next(sealed, None), next(rows, None)
    while wanted or found:
        if found is None or (wanted and wanted[0] < found[0]):
            assert wanted
            yield _named(table, wanted[0], "is gone; the log has it")
            wanted = next(sealed, None)
        elif wanted is None or found[0] < wanted[0]:
            yield _named(table, found[0], "stands in no line of the log")
            found = next(rows, None)
        else:
            if wanted[1] != found[1]:
                yield _named(table, found[0], "is not as the log has it")
            wanted, found = next(sealed, None), next(rows, None)


def _last_digests(table: SealedTable) -> Iterator[tuple[int, str]]:
    """Number and last digest of every row that was not deleted since."""
    lines = LogLine.objects.filter(table=table.name, row__gt=0).order_by("row", "position")
    values = lines.values_list("row", "digest").iterator(chunk_size=_CHUNK)
    for row, states in groupby(values, key=itemgetter(0)):
        *_, (_, digest) = states
        if digest:
            yield row, digest


def file_faults(table: SealedTable) -> Iterator[str]:
    """Sentences for kept files that are gone, or no longer hold what came, or what an erasure left
    of it.
    """
    left: dict[str, str] = {}
    erasures = Event.objects.filter(verb=Verb.ERASED).order_by("pk").values_list("data", flat=True)
    for data in erasures.iterator(_CHUNK):
        left |= data.get("files", {})
    storage = table.model._meta.get_field(table.file).storage  # type: ignore[union-attr]
    rows = table.model._base_manager.exclude(**{table.file: ""}).order_by("pk")
    for pk, name, digest in rows.values_list("pk", table.file, table.file_digest).iterator(_CHUNK):
        try:
            with storage.open(name) as file:
                found = hashlib.file_digest(file, "sha256").hexdigest()
        except FileNotFoundError:
            yield _named(table, pk, "has lost its file")
            continue
        except StoreAway as away:
            yield _named(table, pk, f"has a file that could not be compared. {away.sentence}")
            return
        if found != left.get(f"{table.name} {pk}", digest):
            yield _named(table, pk, "has a file that was changed")


def _named(table: SealedTable, row: int, what: str) -> str:
    name = str(table.model._meta.verbose_name)
    return f"{name[:1].upper()}{name[1:]} {row} {what.removesuffix('.')}."
