"""Columns of a report: shown on a page, written to a file."""

from datetime import date
from decimal import Decimal

import pytest
from scipy.stats import binomtest

from rentals.reports.table import (
    ColumnKind,
    CountedShare,
    Linked,
    ReportColumn,
    ReportTable,
    file_head,
    file_row,
)

pytestmark = pytest.mark.any_database
COLUMNS = (
    ReportColumn("Run"),
    ReportColumn("Short", ColumnKind.SHARE),
    ReportColumn("Worth", ColumnKind.MONEY, "EUR"),
    ReportColumn("Days", ColumnKind.TENTHS),
    ReportColumn("Ended", ColumnKind.DAY),
    ReportColumn("Pieces", ColumnKind.COUNT),
    ReportColumn("Volts", ColumnKind.HUNDREDTHS, "V"),
)
ROW = (
    Linked("Spring", "/runs/1/"),
    CountedShare(3, 12),
    Decimal("1234.565"),
    3.26,
    date(2027, 3, 1),
    1200,
    2.4049,
)


@pytest.mark.parametrize(("hits", "trials"), [(0, 7), (3, 12), (1, 400), (5, 5)])
def test_bounds_of_a_share_are_those_of_a_library(hits: int, trials: int) -> None:
    # SciPy's own Wilson interval, written by others from the same formula.
    library = binomtest(hits, trials).proportion_ci(method="wilson")
    assert CountedShare(hits, trials).bounds == pytest.approx((library.low, library.high))


def test_of_none_there_is_no_share() -> None:
    nothing = CountedShare(0, 0)
    assert (nothing.share, nothing.bounds, nothing.words, nothing.in_full) == (None, None, "", "")
    assert file_row(COLUMNS[1:2], (nothing,)) == [0, 0, None, None, None]


def test_a_page_shows_what_people_read() -> None:
    table = ReportTable("Losses", COLUMNS, [ROW])
    (cells,) = table.shown_rows
    words = [cell.text.replace("\u00a0", " ") for cell in cells]
    assert words[:4] == ["Spring", "3 of 12: 25 % (9 to 53 %)", "1,234.57", "3.3"]
    assert words[4:] == ["1 Mar 2027", "1,200", "2.40"]
    assert (cells[0].url, cells[0].code) == ("/runs/1/", "")
    assert [column.numeric for column in COLUMNS] == [False, True, True, True, False, True, True]


def test_a_file_holds_numbers_and_the_bounds_apart() -> None:
    head, cells = file_head(COLUMNS), file_row(COLUMNS, ROW)
    assert head[1:6] == ["Short", "Short, of", "Short, %", "Short, lowest %", "Short, highest %"]
    assert head[6] == "Worth, EUR"
    assert cells[:6] == ["Spring", 3, 12, 25.0, 8.9, 53.2]
    assert cells[6:] == [1234.57, 3.26, "2027-03-01", 1200, 2.405]


def test_yen_have_no_decimals_and_codes_are_drawn_as_codes() -> None:
    assert ReportColumn("Worth", ColumnKind.MONEY, "JPY").shown(Decimal("1250.5")) == "1,251"
    assert ReportColumn("Worth", ColumnKind.MONEY, "JPY").shown(None) == ""
    table = ReportTable("Kits", COLUMNS[:1], [(Linked("K0001O", "/kits/K0001O/", code=True),)])
    assert table.shown_rows[0][0].code == "K0001O"
