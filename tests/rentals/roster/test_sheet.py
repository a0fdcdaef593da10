"""Names of cells, and the text in them."""

import pytest

from rentals.roster.sheet import (
    SheetRow,
    cell_name,
    checked_rows,
    column_letters,
    tidy,
)


def test_cells_are_named_as_a_spreadsheet_names_them() -> None:
    assert [column_letters(n) for n in (0, 25, 26, 51, 52, 701, 702)] == [
        "A",
        "Z",
        "AA",
        "AZ",
        "BA",
        "ZZ",
        "AAA",
    ]
    assert cell_name(1, 7) == "B7"
    with pytest.raises(ValueError, match="-1"):
        column_letters(-1)


def test_invisible_characters_and_double_blanks_go() -> None:
    assert tidy("  A\u200bda \u00a0 Lovely\r\n\r\n x\x07 ") == "Ada Lovely\nx"


def test_rows_without_anything_go_and_empty_columns_at_the_right_too() -> None:
    trouble = {2: "Cell C3 holds a date."}
    rows = [
        SheetRow(1, ("Name", "", "")),
        SheetRow(2, ("", "")),
        SheetRow(3, ("A", "", ""), trouble),
    ]
    assert [(row.number, row.cells) for row in checked_rows(rows)] == [
        (1, ("Name",)),
        (3, ("A", "", "")),
    ]
