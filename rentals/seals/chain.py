"""Appending to the log: each line keyed with a secret that lies apart from the database."""

from __future__ import annotations

import hmac
from collections.abc import Callable, Iterable
from itertools import islice
from typing import NamedTuple

from rentals.models import LogHead, LogLine
from rentals.noted import Notes

from .keyed import coder
from .tables import SealedTable, log_key, sealed_table

#: Lines of the log about itself: a key begins to write, and an owner took it on.
START, TAKEN_ON = "log.start", "log.taken_on"
_BATCH = 500


class LogFact(NamedTuple):
    """What a line will say: a table, the number of a row, the digest of its facts."""

    table: str
    row: int
    digest: str


def key_mark(key: bytes) -> str:
    """By which a key is known again without being told."""
    return hmac.digest(key, b"which key is this", "sha256").hex()[:16]


def line_coder(key: bytes) -> Callable[[str, int, str, int, str], str]:
    """Tells the code (HMAC-SHA-256) of a line, as hexadecimal text, from that of the line before
    it, its position, table, row and digest.
    """
    code = coder(key)

    def mac(previous: str, position: int, table: str, row: int, digest: str) -> str:
        return code(f"{previous}|{position}|{table}|{row}|{digest}".encode())

    return mac


def append(facts: Iterable[LogFact]) -> None:
    """Add lines at the end of the log. Call it last in a transaction: the head stays locked until
    that ends.
    """
    head, _ = LogHead.objects.select_for_update().get_or_create(pk=1)
    key = log_key()
    mark = key_mark(key)
    if head.key_mark != mark:
        facts = (*_started(mark), *facts)
        head.key_mark = mark
    facts, mac = iter(facts), line_coder(key)
    while batch := list(islice(facts, _BATCH)):
        lines = []
        for fact in batch:
            head.number += 1
            head.mac = mac(head.mac, head.number, *fact)
            lines.append(LogLine(position=head.number, mac=head.mac, **fact._asdict()))
        LogLine.objects.bulk_create(lines)
    head.save()


def _started(mark: str) -> list[LogFact]:
    return [LogFact(START, 0, mark)]


def seal(notes: Notes) -> None:
    """Hold in the log how the noted rows stand now."""
    facts: list[LogFact] = []
    for model in sorted(notes, key=lambda model: model._meta.label_lower):
        if table := sealed_table(model):
            facts += _facts(table, sorted(notes[model]))
    if facts:
        append(facts)


def _facts(table: SealedTable, rows: list[int]) -> list[LogFact]:
    found: dict[int, str] = {}
    for start in range(0, len(rows), _BATCH):
        found.update(table.digests(rows[start : start + _BATCH]))
    return [LogFact(table.name, row, found.get(row, "")) for row in rows]


def head_of_log() -> LogHead:
    """Where the log ends now; number 0 where it is empty."""
    return LogHead.objects.first() or LogHead()
