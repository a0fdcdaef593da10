"""Is the log whole, and are the protected rows as its last line about each says?"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from functools import cache
from itertools import groupby
from operator import itemgetter

from rentals.event_facts import OddFact, facts_of, pairs_said
from rentals.lifecycle import Verb
from rentals.models import Event, LogHead, LogLine
from rentals.plain_rows import plain_rows
from rentals.store_away import StoreAway

from .chain import START, TAKEN_ON, head_of_log, key_mark, line_coder
from .differing import Stretch, differing, lines_of_rows
from .tables import SealedTable, log_key
from .unreadable import UNREADABLE

_CHUNK = 5000
OTHER_KEY = (
    "The log was written with another key than this desk has now. Put the old one back (the file"
    " log.key, or KITDESK_LOG_KEY). Where it is lost, take the log on with this one:"
    " `python3 manage.py verify --take-on-key`."
)
EVERYTHING: Stretch = (0, None)


def key_is_known() -> bool:
    """Whether the log was begun with the key that this desk has, or its owner took that on."""
    mark = key_mark(log_key())
    marks = LogLine.objects.filter(table__in=[START, TAKEN_ON]).order_by("position")
    last, taken_on = "", True
    for position, kind, digest in marks.values_list("position", "table", "digest"):
        taken_on = kind == TAKEN_ON or position == 1
        last = digest
    return taken_on and last in (mark, "") and head_of_log().key_mark in (mark, "")


def line_faults(
    heads: Mapping[int, str], stretch: Stretch, wrong: Callable[[int], object]
) -> Iterator[str]:
    """Sentences for lines of a stretch that were changed or written anew, or that lack; `wrong`
    hears the number of each whose code is not its own. Those of a key that this desk has no more
    are only counted.
    """
    key = log_key()
    mark, code = key_mark(key), line_coder(key)
    first, last = stretch
    number, previous, foreign = _before(first, mark)
    lines = LogLine.objects.filter(position__gte=first).order_by("position")
    if last is not None:
        lines = lines.filter(position__lt=last)
    values = lines.values_list("position", "mac", "table", "row", "digest")
    for position, mac, table, row, digest in plain_rows(values):
        if table == START:
            foreign = digest != mark
        if position != number + 1:
            yield f"The log lacks line {number + 1} before line {position}."
        if not foreign and code(previous, position, table, row, digest) != mac:
            wrong(position)
        if position in heads and heads[position] != mac:
            yield f"The log was written anew: line {position} is not the one that was told."
        number, previous = position, mac


def _before(first: int, mark: str) -> tuple[int, str, bool]:
    """Number and code of the line before a stretch; whether another key wrote there."""
    before = LogLine.objects.filter(position__lt=first).order_by("-position")
    number, previous = before.values_list("position", "mac").first() or (0, "")
    started = before.filter(table=START).values_list("digest", flat=True).first()
    return number, previous, started is not None and started != mark


def end_faults(heads: Mapping[int, str]) -> Iterator[str]:
    """Sentences where the log does not end as its head, or one that was told, says."""
    last = LogLine.objects.order_by("-position").values_list("position", "mac").first()
    yield from _end_faults(head_of_log(), *(last or (0, "")), heads)


def _end_faults(head: LogHead, number: int, mac: str, heads: Mapping[int, str]) -> Iterator[str]:
    if (head.number, head.mac) != (number, mac):
        yield f"The log ends at line {number}, its head says {head.number}."
    last = max(heads, default=0)
    if last > number:
        yield f"The end of the log was cut off: line {last} was told, it ends at {number}."


def row_faults(table: SealedTable, stretch: Stretch = EVERYTHING) -> Iterator[str]:
    """Sentences for rows of a stretch of a table that are otherwise than the log says, gone, or
    unknown to it. Memory stays flat.
    """
    for piece in differing(table, stretch):
        yield from row_faults_one_by_one(table, piece)


def row_faults_one_by_one(table: SealedTable, stretch: Stretch) -> Iterator[str]:
    """The same of each row that is read into Python. Both sides are read in the order of the rows,
    side by side.
    """
    sealed, rows = _last_digests(table, stretch), table.digests(stretch=stretch)
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
            if found[1] == UNREADABLE:
                yield _named(table, found[0], "holds a value that cannot be read")
            elif wanted[1] != found[1]:
                yield _named(table, found[0], "is not as the log has it")
            wanted, found = next(sealed, None), next(rows, None)


def _last_digests(table: SealedTable, stretch: Stretch) -> Iterator[tuple[int, str]]:
    """Number and last digest of every row of a stretch that was not deleted since."""
    lines = lines_of_rows(table, stretch).iterator(chunk_size=_CHUNK)
    for row, states in groupby(lines, key=itemgetter(0)):
        *_, (_, digest) = states
        if digest:
            yield row, digest


def file_faults(table: SealedTable) -> Iterator[str]:
    """Sentences for kept files that are gone, or no longer hold what came, or what an erasure left
    of it.
    """
    left_by_erasures = cache(_left_by_erasures)
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
        if found != left_by_erasures().get(f"{table.name} {pk}", digest):
            yield _named(table, pk, "has a file that was changed")


def _left_by_erasures() -> dict[str, str]:
    """Digests of what erasures left of files, by table and number."""
    left: dict[str, str] = {}
    for data in facts_of(Event.objects.filter(verb=Verb.ERASED).order_by("pk")):
        with suppress(OddFact):
            left.update(pairs_said(data.get("files", {})))
    return left


def _named(table: SealedTable, row: int, what: str) -> str:
    name = str(table.model._meta.verbose_name)
    return f"{name[:1].upper()}{name[1:]} {row} {what.removesuffix('.')}."
