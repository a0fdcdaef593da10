"""A report: its result in a sentence, its chart, its table, and what the numbers rest on."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from .bars import BarChart
from .table import ReportColumn, ReportTable, Row


@dataclass(frozen=True)
class DeskReport:
    """What a page shows and a file holds.

    `things` are what the rows are of, a sequence that can be cut; `rows_of` makes the rows of some
    of them, in few queries however many they are. `chart_of` draws the rows of a page.
    `plots` are drawings over time (with ``svg``, ``narrow`` and ``caption``). `twin` is the table
    of a chart that does not draw the rows. `basis` says what was counted, `empty` what will stand
    here.
    """

    heading: str
    sentence: str
    caption: str
    columns: Sequence[ReportColumn]
    things: Any
    rows_of: Callable[[Sequence[Any]], list[Row]]
    basis: Sequence[str]
    empty: str
    chart_of: Callable[[Sequence[Row]], BarChart | None] | None = None
    plots: Sequence[Any] = ()
    twin: ReportTable | None = None
    names_students: bool = False
