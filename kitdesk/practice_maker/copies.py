"""One copy of the played practice: its rows with numbers, words, days and hashes of their own."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator, Sequence
from datetime import timedelta
from operator import itemgetter
from typing import Any

import numpy as np
from django.core.files.base import ContentFile
from django.db import models

from readiness.models import BenchTest, Capture, CaptureMark
from readiness.signal.sample_marks import SampleMark, mark_from
from rentals.actions.record import EventFacts, words_hash
from rentals.models import CourseRun, Event, Kit, Loan, Message, StudentLink
from rentals.seals.chain import LogFact
from rentals.selectors.student_links import derived_token
from rentals.student_tokens import token_digest

from .chapters import Chapter
from .copy_numbers import CopyNumbers
from .event_data import DataNumbers
from .files import redated, relabelled
from .played import Played
from .tables import CopiedTable, Row, Table
from .words import rendered


class MovedRows:
    """Played rows some days later: made once for all copies of a group."""

    def __init__(self, played: Played) -> None:
        self._played = played
        self._words: dict[timedelta, dict[str, str]] = {}
        self._rows: dict[tuple[Chapter, timedelta, Table], list[tuple[Row, Row]]] = {}

    def words(self, later: timedelta) -> dict[str, str]:
        """Days as they are written so much later."""
        if later not in self._words:
            self._words[later] = self._played.finder.moved_days(later)
        return self._words[later]

    def rows(self, chapter: Chapter, later: timedelta, table: Table) -> list[tuple[Row, Row]]:
        """Each row as Python has it, and as the database's driver takes it."""
        key = chapter, later, table
        if key not in self._rows:
            self._rows[key] = list(self._moved(*key))
        return self._rows[key]

    def _moved(self, chapter: Chapter, later: timedelta, table: Table) -> Iterator[tuple[Row, Row]]:
        copied = self._played.tables[table]
        # A batch of stock is everybody's, and expires for all on one day.
        days = [p for p in copied.of_kind(models.DateField) if copied.names[p] != "expires_on"]
        for played in self._played.rows[chapter][table]:
            row, packed = played.row.copy(), played.packed.copy()
            for place in days:
                if row[place] is not None:
                    row[place] = packed[place] = row[place] + later
            yield row, copied.as_stored(packed)


class SceneRows:
    """The rows of one scene of a copy."""

    def __init__(self, numbers: CopyNumbers, moved: MovedRows, place: int) -> None:
        self.scene = numbers.story.scenes[place]
        self.later = numbers.later + timedelta(days=self.scene.days)
        self.words = moved.words(self.later) | numbers.words_of(place)
        self.shifts = numbers.shifts(place)
        chapter = self.scene.chapter
        self.data = DataNumbers(numbers.played, chapter, self.shifts, self.words, self.later)
        self._numbers, self._moved = numbers, moved

    def rows(self, table: Table, *, both: bool) -> Iterator[tuple[Row, Row]]:
        """Each row as Python has it, and as the database's driver takes it; where not both are
        needed, the latter twice.
        """
        chapter = self.scene.chapter
        if table not in self._numbers.played.rows[chapter]:
            return
        if table is CourseRun and not self._numbers.begins_group:
            return
        shifts, words = self.shifts, self.words
        played = self._numbers.played.rows[chapter][table]
        moved = self._moved.rows(chapter, self.later, table)
        for origin, (row_then, stored_then) in zip(played, moved, strict=True):
            stored = stored_then.copy()
            row = row_then.copy() if both else stored
            for place, shift in origin.shifts:
                row[place] = stored[place] = row[place] + shifts[shift]
            for place, phrase in origin.phrases:
                row[place] = stored[place] = rendered(phrase, words)
            if both:
                for place in origin.renewed:
                    row[place] = json.loads(stored[place])
            yield row, stored


class Copy:
    """The rows of a copy by table, and what the log says of them."""

    def __init__(self, numbers: CopyNumbers, moved: MovedRows) -> None:
        self.played, self.numbers = numbers.played, numbers
        self.facts: list[LogFact] = []
        self._scenes = [
            SceneRows(numbers, moved, place) for place in range(len(numbers.story.scenes))
        ]
        self._ends: dict[str, tuple[int, str]] = {}
        #: By kit: its latest round of tests, which alone counts.
        self._tested: dict[int, tuple[Row, Row]] = {}
        self._hooks: dict[Table, Callable[[CopiedTable, SceneRows, Row, Row], None]] = {
            Event: self._event,
            Kit: self._kit,
            Loan: self._loan,
            Message: self._message,
            StudentLink: self._student_link,
            Capture: self._capture,
            CaptureMark: self._mark,
            BenchTest: self._bench_test,
        }

    def tables(self) -> dict[Table, list[Row]]:
        """The rows of each table as they are stored, in the order in which they may be written."""
        # A kit knows the last of its events.
        order = sorted(self.played.tables, key=lambda table: table is not Event)
        found = {table: self._rows(table) for table in order}
        return {table: found[table] for table in self.played.tables}

    def _rows(self, table: Table) -> list[Row]:
        copied, hook = self.played.tables[table], self._hooks.get(table)
        both = hook is not None or table in self.played.sealed
        rows, kept = [], []
        for scene in self._scenes:
            for row, stored in scene.rows(table, both=both):
                if hook is not None:
                    hook(copied, scene, row, stored)
                rows.append(row)
                kept.append(stored)
        self._hold(table, copied, rows)
        return kept

    def _hold(self, table: Table, copied: CopiedTable, rows: Sequence[Row]) -> None:
        if (sealed := self.played.sealed.get(table)) is None:
            return
        digest, number, name = sealed.digester(), copied.number, sealed.name
        facts = itemgetter(*(copied.place(column) for column in sealed.columns), number)
        self.facts += [
            LogFact(name, row[number], digest(row[number], facts(row)[:-1])) for row in rows
        ]

    def _event(self, _: CopiedTable, scene: SceneRows, row: Row, stored: Row) -> None:
        (pk, chain, _, at, verb, text, _, _, data, _, actor, kit, loan, part, _, _) = row
        number, previous = self._ends.get(chain, (0, ""))
        salt = self.numbers.drawn("salt", pk)
        words = words_hash(salt, text)
        if data:
            data = scene.data.copied(data)
            stored[8] = json.dumps(data)
        number += 1
        facts = EventFacts(chain, number, at, verb, words, data, actor, kit, loan, part, previous)
        digest = facts.hash
        self._ends[chain] = number, digest
        row[2] = stored[2] = number
        row[6:9] = salt, words, data
        stored[6:8] = salt, words
        row[14:] = stored[14:] = previous, digest

    def _kit(self, copied: CopiedTable, _: SceneRows, row: Row, stored: Row) -> None:
        number, digest = self._ends[row[copied.place("code")]]
        _put(copied, row, stored, event_count=number, last_hash=digest)

    def _loan(self, copied: CopiedTable, scene: SceneRows, row: Row, stored: Row) -> None:
        place = copied.place("packing_list_hash")
        if row[place]:
            _put(copied, row, stored, packing_list_hash=scene.data.list_hash(row[place]))

    def _message(self, copied: CopiedTable, _: SceneRows, row: Row, stored: Row) -> None:
        _, _, domain = row[copied.place("message_id")].partition("@")
        drawn = self.numbers.drawn("mail", row[copied.number])
        _put(copied, row, stored, message_id=f"<{drawn}@{domain}")

    def _student_link(self, copied: CopiedTable, _: SceneRows, row: Row, stored: Row) -> None:
        nonce = self.numbers.drawn("link", row[copied.number], size=32)
        digest = token_digest(derived_token(row[copied.place("loan_id")], nonce))
        _put(copied, row, stored, nonce=nonce, token_sha256=digest)

    def _capture(self, copied: CopiedTable, scene: SceneRows, row: Row, stored: Row) -> None:
        """The same recording under the new kit's code, in a file of its own."""
        storage = Capture._meta.get_field("file").storage
        played = self.played.files[row[copied.place("file")]]
        content = relabelled(redated(played, scene.later), self.played, scene.words)
        digest = hashlib.sha256(content).hexdigest()
        name = storage.save(f"captures/{digest[:2]}/{digest}", ContentFile(content))
        _put(copied, row, stored, sha256=digest, size=len(content), file=name)

    def _mark(self, copied: CopiedTable, _: SceneRows, row: Row, stored: Row) -> None:
        """A mark of its own, so that no recording passes for another kit's."""
        played = mark_from(bytes(row[copied.place("mark")]))
        chance = np.random.default_rng(int(self.numbers.drawn("mark", row[copied.number]), 16))
        states = chance.integers(-1, 2, len(played.states), dtype=np.int8)
        words = chance.integers(0, 1 << 32, len(played.words), dtype=np.uint32)
        mark = SampleMark(states, frozenset(words.tolist()))
        _put(copied, row, stored, mark=mark.to_bytes())

    def _bench_test(self, copied: CopiedTable, scene: SceneRows, row: Row, stored: Row) -> None:
        tests = scene.data.bench_tests(row[copied.place("tests")])
        _put(copied, row, stored, tests=tests)
        stored[copied.place("tests")] = json.dumps(tests)
        kit = row[copied.place("kit_id")]
        if kit in self._tested:
            _put(copied, *self._tested[kit], current=False)
        self._tested[kit] = row, stored


def _put(copied: CopiedTable, row: Row, stored: Row, **values: Any) -> None:
    for name, value in values.items():
        place = copied.place(name)
        row[place] = stored[place] = value
