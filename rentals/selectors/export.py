"""Lists as files, bit by bit: however long a list, little of it is in memory. Cells that a
spreadsheet would run as a formula are made plain text (ASVS 5.0, 1.2.10).
"""

from __future__ import annotations

import csv
import io
import tempfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date
from enum import StrEnum
from typing import TypeVar

from django.db.models import Model, QuerySet
from django.utils import timezone
from openpyxl import Workbook

from rentals.models import Kit, Loan
from rentals.selectors.lead_sets import LeadSetRow
from rentals.selectors.returns import out_row
from rentals.selectors.shopping_list import ShoppingRow

Cell = str | int | float | None
_PIECE = 65_536
#: Rows of the database that are in memory at a time.
ROWS_AT_ONCE = 500
Row = TypeVar("Row", bound=Model)
_each_row: ContextVar[Callable[[], object]] = ContextVar("each row", default=lambda: None)


class ExportFormat(StrEnum):
    """The two forms a list can leave the desk in."""

    CSV = "csv"
    XLSX = "xlsx"

    @property
    def content_type(self) -> str:
        if self is ExportFormat.CSV:
            return "text/csv; charset=utf-8"
        return "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def defused(cell: Cell) -> Cell:
    """The cell, with an apostrophe before a text that starts like a formula; numbers stay
    numbers.
    """
    if isinstance(cell, str) and cell.startswith(("=", "+", "-", "@", "\t", "\r", "\x00")):
        return "'" + cell.replace("\x00", "")
    return cell


def export_rows(head: Sequence[str], rows: Iterable[Sequence[Cell]], form: ExportFormat) -> bytes:
    """A short table in one piece."""
    return b"".join(streamed_rows(head, rows, form))


def streamed_rows(
    head: Sequence[str], rows: Iterable[Sequence[Cell]], form: ExportFormat
) -> Iterator[bytes]:
    """A table as CSV (RFC 4180, UTF-8 with a byte order mark so that spreadsheets see the encoding)
    or XLSX, in pieces. A CSV file is written as its rows come, a workbook once all have come.
    """
    rows = _told(rows)
    return _streamed_csv(head, rows) if form is ExportFormat.CSV else _streamed_xlsx(head, rows)


@contextmanager
def telling_rows(tell: Callable[[], object]) -> Iterator[None]:
    """Call `tell` for each row of the tables that are written inside."""
    before = _each_row.set(tell)
    try:
        yield
    finally:
        _each_row.reset(before)


def _told(rows: Iterable[Sequence[Cell]]) -> Iterator[Sequence[Cell]]:
    for row in rows:
        yield row
        _each_row.get()()


def rows_in_parts(rows: QuerySet[Row]) -> Iterator[Row]:
    """All rows in their order, some hundreds in memory at a time. Between two parts no query is
    half read, so whoever takes them may write meanwhile; a row that has gone by then is left out.
    """
    keys = list(rows.values_list("pk", flat=True))
    for start in range(0, len(keys), ROWS_AT_ONCE):
        part = keys[start : start + ROWS_AT_ONCE]
        found = {row.pk: row for row in rows.filter(pk__in=part)}
        for key in part:
            if key in found:
                yield found.pop(key)


def _streamed_csv(head: Sequence[str], rows: Iterable[Sequence[Cell]]) -> Iterator[bytes]:
    lines = io.StringIO(newline="")
    writer = csv.writer(lines)
    lines.write("\ufeff")
    writer.writerow(head)
    for row in rows:
        writer.writerow([defused(cell) for cell in row])
        if lines.tell() >= _PIECE:
            yield lines.getvalue().encode()
            lines.seek(0)
            lines.truncate()
    yield lines.getvalue().encode()


def _streamed_xlsx(head: Sequence[str], rows: Iterable[Sequence[Cell]]) -> Iterator[bytes]:
    with tempfile.TemporaryFile() as packed:
        _workbook(head, rows).save(packed)
        packed.seek(0)
        while piece := packed.read(_PIECE):
            yield piece


def _workbook(head: Sequence[str], rows: Iterable[Sequence[Cell]]) -> Workbook:
    """A workbook whose rows are written away as they come."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet("Kitdesk")
    sheet.append(list(head))
    for row in rows:
        sheet.append([defused(cell) for cell in row])
    return book


def export_kits(kits: QuerySet[Kit], form: ExportFormat) -> Iterator[bytes]:
    """The fleet list; `kits` as `rentals.selectors.kits.with_open_loans` gives them."""
    head = [
        "code",
        "type",
        "state",
        "cleared",
        "student",
        "run",
        "due",
        "continuity",
        "noise",
        "battery",
        "note",
    ]
    rows = rows_in_parts(kits)
    return streamed_rows(head, map(_kit_row, rows), form)


def _kit_row(kit: Kit) -> list[Cell]:
    loan = kit.open_loans[0] if kit.open_loans else None  # type: ignore[attr-defined]
    return [
        kit.code,
        kit.kit_type.name,
        kit.get_state_display(),
        "yes" if kit.cleared else "no",
        loan.enrolment.student.name if loan else "",
        loan.enrolment.run.name if loan else "",
        loan.due_on.isoformat() if loan else "",
        kit.score_continuity,
        kit.score_noise,
        kit.score_battery,
        kit.note,
    ]


def export_shopping(rows: Iterable[ShoppingRow], form: ExportFormat) -> Iterator[bytes]:
    """The shopping list; `rows` as `rentals.selectors.shopping_list.shopping_list` gives them."""
    head = [
        "item",
        "supplier",
        "here",
        "needed",
        "needed by",
        "order by",
        "urgency",
        "packs",
        "pack size",
        "cost",
        "why",
    ]
    return streamed_rows(head, map(_shopping_row, rows), form)


def _shopping_row(row: ShoppingRow) -> list[Cell]:
    answer = row.forecast
    return [
        row.item.name,
        row.item.supplier,
        answer.here,
        answer.needed,
        _day(row.needed_by),
        _day(answer.order_by),
        row.urgency,
        answer.packs or None,
        row.item.pack_size,
        None if answer.cost is None else float(answer.cost),
        row.why,
    ]


def export_lead_sets(rows: Iterable[LeadSetRow], form: ExportFormat) -> Iterator[bytes]:
    """Every lead set; `rows` as `rentals.selectors.lead_sets.lead_sets_in_turn` gives them."""
    head = ["lead set", "serial", "since", "loans", "months", "where", "ended on", "cause"]
    return streamed_rows(head, map(_lead_set_row, rows), form)


def _lead_set_row(row: LeadSetRow) -> list[Cell]:
    return [
        row.part.code,
        row.part.serial,
        _day(row.since),
        row.life.loans,
        round(row.life.months, 1),
        row.part.get_place_display(),
        _day(row.part.ended_on),
        row.part.get_ended_as_display(),
    ]


def _day(day: date | None) -> str:
    return day.isoformat() if day else ""


def export_out(loans: QuerySet[Loan], today: date, form: ExportFormat) -> Iterator[bytes]:
    """Who has what; `loans` as `rentals.selectors.returns.loans_out` gives them."""
    head = ["kit", "student", "run", "away since", "due", "carrier", "tracking number", "state"]
    rows = rows_in_parts(loans)
    return streamed_rows(head, (_out_row(loan, today) for loan in rows), form)


def _out_row(loan: Loan, today: date) -> list[Cell]:
    since = timezone.localdate(loan.dispatched_at) if loan.dispatched_at else None
    return [
        loan.kit.code,
        loan.enrolment.student.name,
        loan.enrolment.run.name,
        since.isoformat() if since else "",
        loan.due_on.isoformat(),
        loan.carrier,
        loan.tracking_number,
        out_row(loan, today).state_words,
    ]
