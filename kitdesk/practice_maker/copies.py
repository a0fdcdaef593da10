"""One copy of the played practice: its rows with numbers, words, days and hashes of their own."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

from django.core.files.base import ContentFile
from django.db import models

from readiness.models import BenchTest, Capture, CaptureMark
from rentals.actions.record import EventFacts, words_hash
from rentals.models import CourseRun, Event, Kit, Loan, Message, StudentLink
from rentals.seals.chain import LogFact
from rentals.selectors.student_links import derived_token
from rentals.student_tokens import token_digest

from .copy_numbers import CopyNumbers
from .event_data import DataNumbers
from .played import Played
from .tables import CopiedTable, Row, Table, root_of
from .words import rendered

#: A row as Python has it, and as the database's driver takes it.
Pair = tuple[Row, Row]


class MovedRows:
    """The played rows some days later: shared by the copies of a group."""

    def __init__(self, played: Played, later: timedelta) -> None:
        self.words = played.finder.moved_days(later)
        self.rows = {table: self._moved(copied, later) for table, copied in played.tables.items()}

    @staticmethod
    def _moved(copied: CopiedTable, later: timedelta) -> list[Pair]:
        # A batch of stock is everybody's, and expires for all on one day.
        days = [p for p in copied.of_kind(models.DateField) if copied.names[p] != "expires_on"]
        pairs = []
        for played in copied.rows:
            row = list(played)
            for place in days:
                if row[place] is not None:
                    row[place] += later
            pairs.append((row, copied.as_stored(row)))
        return pairs


class Copy:
    """Rows by table, and the lines that the log gets for them."""

    def __init__(self, played: Played, numbers: CopyNumbers, moved: MovedRows) -> None:
        self.played, self.numbers, self.moved = played, numbers, moved
        self.words = {**moved.words, **numbers.words}
        self.ends: dict[str, str] = {}
        self.digests: dict[Table, dict[int, str]] = {}
        self.data = DataNumbers(played, numbers, self.words)
        self._hooks: dict[Table, Callable[[CopiedTable, Row, Row], None]] = {
            Event: self._event,
            Kit: self._kit,
            Loan: self._loan,
            Message: self._message,
            StudentLink: self._student_link,
            Capture: self._capture,
            CaptureMark: self._mark,
            BenchTest: self._bench_test,
        }

    def tables(self) -> Iterator[tuple[Table, list[Row]]]:
        """Each table with its rows as they are stored; events before the kits they end at."""
        order: list[Table] = list(self.played.tables)
        order.remove(Event)
        order.insert(0, Event)
        for table in order:
            if table is CourseRun and not self.numbers.begins_group:
                continue
            yield table, self._rows(table)

    def log_facts(self) -> Iterator[LogFact]:
        """What the log says of the rows, in the order in which the played ones were written. Of a
        row's earlier states it has the digest of its last one.
        """
        for step in self.played.log:
            row = step.row + self.numbers.added(root_of(step.table.model))
            digest = self.digests[step.table.model].get(row, "")
            yield LogFact(step.table.name, row, digest)

    def _rows(self, table: Table) -> list[Row]:
        copied, hook = self.played.tables[table], self._hooks.get(table)
        shifts = [(place, self.numbers.added(target)) for place, target in copied.numbers]
        packed = [p for p in copied.of_kind(models.JSONField) if copied.names[p] != "data"]
        rows = []
        for pair, phrases in zip(self.moved.rows[table], self.played.phrases[table], strict=True):
            row, stored = pair[0].copy(), pair[1].copy()
            for place, added in shifts:
                if row[place] is not None:
                    row[place] = stored[place] = row[place] + added
            for place, phrase in phrases:
                row[place] = stored[place] = rendered(phrase, self.words)
            for place in packed:
                self._pack(row, stored, place)
            if hook is not None:
                hook(copied, row, stored)
            rows.append((row, stored))
        self._digest(table, copied, [row for row, _ in rows])
        return [stored for _, stored in rows]

    def _pack(self, row: Row, stored: Row, place: int) -> None:
        text = json.dumps(row[place])
        phrase = self.played.finder.phrase(text)
        stored[place] = rendered(phrase, self.words)
        if len(phrase) > 1:
            row[place] = json.loads(stored[place])

    def _digest(self, table: Table, copied: CopiedTable, rows: list[Row]) -> None:
        if (sealed := self.played.sealed.get(table)) is None:
            return
        digest, number = sealed.digester(), copied.place(copied.table._meta.pk.attname)
        places = [copied.place(name) for name in sealed.columns]
        self.digests[table] = {
            row[number]: digest(row[number], [row[place] for place in places]) for row in rows
        }

    def _event(self, copied: CopiedTable, row: Row, stored: Row) -> None:
        (pk, chain, number, at, verb, text, _, _, data, _, actor, kit, loan, part, _, _) = row
        salt = self.numbers.drawn("salt", pk)
        words = words_hash(salt, text)
        data = self.data.copied(data)
        previous = self.ends.get(chain, "")
        facts = EventFacts(chain, number, at, verb, words, data, actor, kit, loan, part, previous)
        self.ends[chain] = facts.hash
        new = {
            "words_salt": salt,
            "words_hash": words,
            "previous_hash": previous,
            "hash": self.ends[chain],
        }
        _put(copied, row, stored, **new)
        row[copied.place("data")] = data
        stored[copied.place("data")] = json.dumps(data)

    def _kit(self, copied: CopiedTable, row: Row, stored: Row) -> None:
        _put(copied, row, stored, last_hash=self.ends[row[copied.place("code")]])

    def _loan(self, copied: CopiedTable, row: Row, stored: Row) -> None:
        place = copied.place("packing_list_hash")
        if row[place]:
            _put(copied, row, stored, packing_list_hash=self.data.list_hash(row[place]))

    def _message(self, copied: CopiedTable, row: Row, stored: Row) -> None:
        _, _, domain = row[copied.place("message_id")].partition("@")
        _put(copied, row, stored, message_id=f"<{self.numbers.drawn('mail', row[0])}@{domain}")

    def _student_link(self, copied: CopiedTable, row: Row, stored: Row) -> None:
        nonce = self.numbers.drawn("link", row[0], size=32)
        digest = token_digest(derived_token(row[copied.place("loan_id")], nonce))
        _put(copied, row, stored, nonce=nonce, token_sha256=digest)

    def _capture(self, copied: CopiedTable, row: Row, stored: Row) -> None:
        """The same recording under the new kit's code, in a file of its own."""
        storage = Capture._meta.get_field("file").storage
        with storage.open(row[copied.place("file")]) as played:
            content = self.data.relabelled(played.read())
        digest = hashlib.sha256(content).hexdigest()
        name = storage.save(f"captures/{digest[:2]}/{digest}", ContentFile(content))
        _put(copied, row, stored, sha256=digest, size=len(content), file=name)

    def _mark(self, copied: CopiedTable, row: Row, stored: Row) -> None:
        """A mark of its own, so that no recording passes for another kit's."""
        mark = bytes(row[copied.place("mark")])
        drawn = bytes.fromhex(self.numbers.drawn("mark", row[0], size=64))
        _put(copied, row, stored, mark=hashlib.shake_128(drawn).digest(len(mark)))

    def _bench_test(self, copied: CopiedTable, row: Row, stored: Row) -> None:
        tests = self.data.bench_tests(row[copied.place("tests")])
        row[copied.place("tests")] = tests
        stored[copied.place("tests")] = json.dumps(tests)


def _put(copied: CopiedTable, row: Row, stored: Row, **values: Any) -> None:
    for name, value in values.items():
        place = copied.place(name)
        row[place] = stored[place] = value
