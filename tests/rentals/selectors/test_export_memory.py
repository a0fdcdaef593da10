"""However long a list, little of it is in memory while it becomes a file."""

from __future__ import annotations

import gc
import tracemalloc
import weakref
from collections.abc import Iterator
from typing import cast

import pytest
from django.db.models import QuerySet

from rentals.models import Kit, KitType
from rentals.reports.report import DeskReport
from rentals.reports.table import ReportColumn
from rentals.selectors.export import ROWS_AT_ONCE, ExportFormat, export_kits
from rentals.states import KitState
from rentals.web.report_page import _file_rows
from tests.hour import most

pytestmark = pytest.mark.any_database
MANY = most(4 * ROWS_AT_ONCE, 6 * ROWS_AT_ONCE)
A_ROW = 100
"""Bytes: of each row its number is held, in some 40 of them. The text of a row
takes 90 more, its kit a thousand.
"""


class _Kits:
    """Kits that are made when they are read, as from the database; it knows how many of them are
    still held.
    """

    def __init__(self, count: int) -> None:
        self._count = count
        self._type = KitType(name="violin")
        self._given: weakref.WeakSet[Kit] = weakref.WeakSet()
        self.most_held = 0

    def values_list(self, *names: str, flat: bool) -> range:
        return range(self._count)

    def filter(self, pk__in: list[int]) -> Iterator[Kit]:
        gc.collect()
        self.most_held = max(self.most_held, len(self._given))
        for number in pk__in:
            kit = Kit(pk=number, code=f"K{number:06}", state=KitState.SHELF, kit_type=self._type)
            vars(kit)["open_loans"] = []
            self._given.add(kit)
            yield kit


def _written(count: int, form: ExportFormat) -> tuple[int, _Kits]:
    """Bytes of the file, and where its rows came from."""
    kits = _Kits(count)
    return sum(map(len, export_kits(cast("QuerySet[Kit]", kits), form))), kits


@pytest.mark.parametrize("form", ExportFormat)
def test_no_row_is_held_that_was_written(form):
    size, kits = _written(1501, form)
    assert size > 10_000
    # Looked at before each part is read: only the last row of the part before may still be held.
    assert kits.most_held <= 1


def test_a_longer_file_holds_no_more_of_each_row_than_its_number():
    gc.freeze()  # what earlier tests left is looked through by none of the many searches below
    peaks, thresholds = [], gc.get_threshold()
    gc.set_threshold(700, 10, 10)  # as outside of tests, where it is looked for more often
    try:
        for count in (MANY, 4 * MANY):
            gc.collect()
            tracemalloc.start()
            _written(count, ExportFormat.CSV)
            peaks.append(tracemalloc.get_traced_memory()[1])
            tracemalloc.stop()
    finally:
        tracemalloc.stop()
        gc.set_threshold(*thresholds)
    few, many = peaks
    assert many - few < A_ROW * 3 * MANY, peaks


def test_a_report_asks_for_a_few_hundred_of_its_things_at_once():
    asked = []

    def rows_of(things):
        asked.append(len(things))
        return [[thing] for thing in things]

    report = DeskReport(
        heading="",
        sentence="",
        caption="",
        columns=[ReportColumn("Kit")],
        things=range(2 * ROWS_AT_ONCE + 1),
        rows_of=rows_of,
        basis=[],
        empty="",
    )
    assert [row[0] for row in _file_rows(report)] == list(range(2 * ROWS_AT_ONCE + 1))
    assert asked == [ROWS_AT_ONCE, ROWS_AT_ONCE, 1]
