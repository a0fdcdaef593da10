"""The played practice as it is copied from: its rows by chapter, and the words in them."""

from __future__ import annotations

import json
from dataclasses import dataclass

from django.db import models

from readiness.models import Capture
from rentals.actions.packing_list import first_lines, list_text
from rentals.codes import grouped
from rentals.models import CourseRun, Kit, Loan, Part, Replacement, Student
from rentals.planning.payment_code import loan_reference, reference_text
from rentals.seals.tables import sealed_tables

from .chapters import Chapter, Chapters, Kind
from .clock import PracticeDays
from .tables import CopiedTable, Row, Table, copied_tables
from .words import Finder, Phrase

#: A column with a number to be shifted, and which shift of `CopyNumbers.shifts` it gets.
Shift = tuple[int, int]
#: Columns of text that no word stands in, or that are worked out anew.
_FIXED = {"words_salt", "words_hash", "hash", "previous_hash", "last_hash", "sha256", "data"}


@dataclass
class PlayedRow:
    """`row` as Python has it, `packed` with JSON as text; what differs in each copy."""

    row: Row
    packed: Row
    shifts: list[Shift]
    phrases: list[tuple[int, Phrase]]
    #: Columns of JSON in which words stand.
    renewed: list[int]


class Played:
    """Read once from the desk; the played rows are not needed afterwards."""

    def __init__(self, chapters: Chapters) -> None:
        self.chapters, self._today = chapters, PracticeDays().at(0, 6)
        order = copied_tables()
        self.tables = {table: CopiedTable(table, set(order)) for table in order}
        self.sealed = {table.model: table for table in sealed_tables()}
        found = {table: copied.rows() for table, copied in self.tables.items()}
        self._by_chapter: dict[tuple[Chapter, Table], list[Row]] = {}
        self._shifts: dict[tuple[Table, int, Chapter], int] = {}
        for table, rows in found.items():
            self._part(table, rows)
        self.finder = Finder(self._words())
        #: By chapter and table, where there are any.
        self.rows: dict[Chapter, dict[Table, list[PlayedRow]]] = {}
        for (chapter, table), rows in self._by_chapter.items():
            of_chapter = self.rows.setdefault(chapter, {})
            of_chapter[table] = [self._played(chapter, table, row) for row in rows]
        self.lists, self.slips = self._lists(), self._slips()
        self.files = self._files()

    def values(self, chapter: Chapter, table: Table, *names: str) -> list[tuple[object, ...]]:
        """Some columns of a table's rows in a chapter."""
        copied = self.tables[table]
        places = [copied.place(name) for name in names]
        rows = self._by_chapter.get((chapter, table), ())
        return [tuple(row[place] for place in places) for row in rows]

    def shift(self, root: Table, number: int, chapter: Chapter) -> int:
        """Which shift a number gets that stands in a row of a chapter. Raises LookupError where it
        is that of a row which another copy of the chapter has nothing to do with.
        """
        key = root, number, chapter
        if key not in self._shifts:
            self._shifts[key] = self._shift(*key)
        return self._shifts[key]

    def _shift(self, root: Table, number: int, chapter: Chapter) -> int:
        of = self.chapters.of(root, number)
        place = 3 * self.chapters.roots.index(root)
        if of is chapter:
            return place
        if of is not None and of.kind in (Kind.KITS, Kind.PEOPLE):
            return place + (1 if of.kind is Kind.KITS else 2)
        raise LookupError(f"{chapter.kind} {chapter.number} speaks of {root.__name__} {number}.")

    def _part(self, table: Table, rows: list[Row]) -> None:
        """Put the rows of a table to their chapters; what was there before is nobody's."""
        copied = self.tables[table]
        for row in rows:
            if chapter := self.chapters.of(copied.own_numbers, row[copied.number]):
                self._by_chapter.setdefault((chapter, table), []).append(row)

    def _words(self) -> set[str]:
        words: set[str] = set()
        for chapter in self.chapters.told:
            for table in (Kit, Part):
                for (code,) in self.values(chapter, table, "code"):
                    words |= {str(code), grouped(str(code))}
            words |= {str(serial) for (serial,) in self.values(chapter, Part, "serial")}
            for names in self.values(chapter, Student, "name", "email"):
                words |= {str(name) for name in names}
            words |= {str(name) for (name,) in self.values(chapter, CourseRun, "name")}
            for pk, number in self.values(chapter, Loan, "id", "tracking_number"):
                reference = loan_reference(int(str(pk)))
                words |= {str(number), reference, reference_text(reference)}
        return words

    def _played(self, chapter: Chapter, table: Table, row: Row) -> PlayedRow:
        copied = self.tables[table]
        shifts = [
            (place, self.shift(root, row[place], chapter))
            for place, root in copied.numbers
            if row[place] is not None
        ]
        for place in copied.dated_by_django:
            row[place] = self._today
        packed = row.copy()
        texts = [*copied.of_kind(models.CharField), *copied.of_kind(models.TextField)]
        jsons = copied.of_kind(models.JSONField)
        for place in jsons:
            packed[place] = None if row[place] is None else json.dumps(row[place])
        places = [place for place in (*texts, *jsons) if copied.names[place] not in _FIXED]
        found = [(place, self.finder.phrase(packed[place])) for place in places if packed[place]]
        phrases = [(place, phrase) for place, phrase in found if len(phrase) > 1]
        renewed = [place for place, _ in phrases if place in jsons]
        return PlayedRow(row, packed, shifts, phrases, renewed)

    def _lists(self) -> dict[int, Phrase]:
        """By loan: what the hash of its frozen list is over."""
        loans = Loan.objects.exclude(packing_list_hash="")
        return {
            loan.pk: self.finder.phrase(list_text(first_lines(loan), loan.return_steps.all()))
            for loan in loans.prefetch_related("packing_lines", "return_steps")
        }

    def _slips(self) -> dict[int, Phrase]:
        """By replacement: the same for what was sent with it."""
        sent = Replacement.objects.exclude(lines=None).prefetch_related("lines")
        return {row.pk: self.finder.phrase(list_text(row.lines.all())) for row in sent}

    def _files(self) -> dict[str, bytes]:
        """By its name: what each capture holds."""
        files = {}
        for capture in Capture.objects.exclude(file=""):
            with capture.file.open("rb") as stream:
                files[str(capture.file)] = stream.read()
        return files
