"""The table of a report: columns of one kind each, shown on a page and written to a file."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from rentals.dates import short_date
from rentals.planning.money import round_money
from rentals.planning.share_range import wilson

FileCell = str | int | float | None
_NO_BREAK_SPACE = "\u00a0"


@dataclass(frozen=True)
class CountedShare:
    """So many of so many; of none there is no share."""

    hits: int
    trials: int

    @property
    def share(self) -> float | None:
        return self.hits / self.trials if self.trials else None

    @property
    def bounds(self) -> tuple[float, float] | None:
        """Where the share lies with 95 % (Wilson)."""
        return wilson(self.hits, self.trials) if self.trials else None

    @property
    def words(self) -> str:
        """The share in percent with its interval: ``25 % (9 to 53 %)``; empty of none. It stays in
        one line.
        """
        if self.share is None or self.bounds is None:
            return ""
        low, high = self.bounds
        words = f"{_percent(self.share)} % ({_percent(low)} to {_percent(high)} %)"
        return words.replace(" ", _NO_BREAK_SPACE)

    @property
    def in_full(self) -> str:
        """The same behind its counts: ``3 of 12: 25 % (9 to 53 %)``."""
        return f"{self.hits} of {self.trials}: {self.words}" if self.trials else ""


def _percent(share: float) -> int:
    return round(100 * share)


@dataclass(frozen=True)
class Linked:
    """A thing by its name, with its page; `code` for what has a label."""

    words: str
    url: str = ""
    code: bool = False


Value = str | int | float | Decimal | date | CountedShare | Linked | None
Row = Sequence[Value]


class ColumnKind(StrEnum):
    """What stands in a column."""

    WORDS = "words"
    DAY = "day"
    COUNT = "count"
    TENTHS = "tenths"
    HUNDREDTHS = "hundredths"
    MONEY = "money"
    SHARE = "share"


_WORDY = (ColumnKind.WORDS, ColumnKind.DAY)


@dataclass(frozen=True)
class ReportColumn:
    """A column; `unit` stands in its head, and is the currency of a sum."""

    label: str
    kind: ColumnKind = ColumnKind.WORDS
    unit: str = ""

    @property
    def numeric(self) -> bool:
        """Whether its cells stand to the right."""
        return self.kind not in _WORDY

    @property
    def file_heads(self) -> list[str]:
        """Its heads in a file: a share has its counts and bounds beside it."""
        head = f"{self.label}, {self.unit}" if self.unit else self.label
        if self.kind is ColumnKind.SHARE:
            return [head, f"{head}, of", f"{head}, %", f"{head}, lowest %", f"{head}, highest %"]
        return [head]

    def shown(self, value: Value) -> str:
        """A value as the page shows it; nothing where there is none."""
        if value is None:
            return ""
        match value:
            case CountedShare():
                return value.in_full
            case Linked():
                return value.words
            case date():
                return short_date(value)
        return self._number(value) if self.numeric else str(value)

    def _number(self, value: str | float | Decimal) -> str:
        match self.kind:
            case ColumnKind.MONEY:
                return f"{round_money(Decimal(value), self.unit):,}"
            case ColumnKind.TENTHS:
                return f"{value:.1f}"
            case ColumnKind.HUNDREDTHS:
                return f"{value:.2f}"
        return f"{value:,}"

    def file_cells(self, value: Value) -> list[FileCell]:
        """The same for a file: days the ISO way, numbers as numbers, shares in percent."""
        match value:
            case CountedShare():
                shares = (value.share, *(value.bounds or (None, None)))
                return [value.hits, value.trials, *map(_in_percent, shares)]
            case Linked():
                return [value.words]
            case Decimal():
                return [float(round_money(value, self.unit))]
            case date():
                return [value.isoformat()]
            case float():
                return [round(value, 3)]
        return [value]


def _in_percent(share: float | None) -> float | None:
    return None if share is None else round(100 * share, 1)


@dataclass(frozen=True)
class ShownCell:
    """A cell as the part `_table.html` draws it."""

    text: str
    url: str = ""
    code: str = ""


@dataclass(frozen=True)
class ReportTable:
    """A caption, columns, and rows of as many values."""

    caption: str
    columns: Sequence[ReportColumn]
    rows: Sequence[Row]

    @property
    def shown_rows(self) -> list[list[ShownCell]]:
        """The rows as the page shows them."""
        return [
            [_cell(column, value) for column, value in zip(self.columns, row, strict=True)]
            for row in self.rows
        ]


def _cell(column: ReportColumn, value: Value) -> ShownCell:
    text = column.shown(value)
    if isinstance(value, Linked):
        return ShownCell(text, value.url, value.words if value.code else "")
    return ShownCell(text)


def file_head(columns: Iterable[ReportColumn]) -> list[str]:
    """The heads of a file."""
    return [head for column in columns for head in column.file_heads]


def file_row(columns: Iterable[ReportColumn], row: Row) -> list[FileCell]:
    """A row of a file."""
    pairs = zip(columns, row, strict=True)
    return [cell for column, value in pairs for cell in column.file_cells(value)]
