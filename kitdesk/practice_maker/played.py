"""The played practice as it is copied from: its rows, the words in them, its part of the log."""

from __future__ import annotations

from dataclasses import dataclass

from django.db import models

from rentals.actions.packing_list import first_lines, list_text
from rentals.codes import grouped
from rentals.models import Event, Kit, Loan, LogLine, Part, Replacement
from rentals.seals.tables import SealedTable, sealed_tables

from .tables import CopiedTable, Table, copied_tables
from .words import Finder, Phrase


@dataclass(frozen=True)
class LogStep:
    """One line of the played log: a table's place among the protected ones, and a row."""

    table: SealedTable
    row: int


class Played:
    """Read once from the desk."""

    def __init__(self) -> None:
        models_ = copied_tables()
        self.tables = {table: CopiedTable(table, set(models_)) for table in models_}
        self.sealed = {table.model: table for table in sealed_tables()}
        self.finder = Finder(self._words())
        self.phrases = {table: self._phrases(copied) for table, copied in self.tables.items()}
        self.lists, self.slips = self._lists(), self._slips()
        self.log = self._log()

    def rows_of(self, table: Table, *names: str) -> list[tuple[object, ...]]:
        """Some columns of a table's played rows."""
        copied = self.tables[table]
        places = [copied.place(name) for name in names]
        return [tuple(row[place] for place in places) for row in copied.rows]

    def _words(self) -> list[str]:
        from rentals.models import CourseRun, Student

        words = []
        for table in (Kit, Part):
            for (code,) in self.rows_of(table, "code"):
                words += [str(code), grouped(str(code))]
        words += [str(serial) for (serial,) in self.rows_of(Part, "serial")]
        for name, email in self.rows_of(Student, "name", "email"):
            words += [str(name), str(email)]
        words += [str(name) for (name,) in self.rows_of(CourseRun, "name")]
        numbers = self.rows_of(Loan, "tracking_number")
        return words + [str(number) for (number,) in numbers if number]

    def _phrases(self, copied: CopiedTable) -> list[list[tuple[int, Phrase]]]:
        """For each row, its columns of text in which something differs from copy to copy."""
        places = [*copied.of_kind(models.CharField), *copied.of_kind(models.TextField)]
        fixed = {"words_salt", "words_hash", "hash", "previous_hash", "last_hash", "sha256"}
        places = [place for place in places if copied.names[place] not in fixed]
        found = []
        for row in copied.rows:
            phrases = [(p, self.finder.phrase(row[p])) for p in places if row[p]]
            found.append([(p, phrase) for p, phrase in phrases if len(phrase) > 1])
        return found

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

    def _log(self) -> list[LogStep]:
        tables = {table.name: table for model, table in self.sealed.items() if model in self.tables}
        of_copies = {row[0] for row in self.tables[Event].rows}
        lines = LogLine.objects.filter(table__in=tables, row__gt=0).order_by("position")
        steps = [LogStep(tables[name], row) for name, row in lines.values_list("table", "row")]
        return [step for step in steps if step.table.model is not Event or step.row in of_copies]
