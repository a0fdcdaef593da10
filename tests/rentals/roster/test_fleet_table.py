"""Tables of a fleet: which column is what, and the table as text again."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rentals.roster.fleet_rows import FleetOnFile, FleetOutcome, judge_fleet
from rentals.roster.fleet_table import (
    MAX_FLEET_ROWS,
    NO_COLUMN,
    as_text,
    fleet_table,
    kind_elsewhere,
    without_rows,
)
from rentals.roster.sheet import RosterSheet, RosterUnreadable, SheetRow
from rentals.roster.text_table import read_pasted

CELLS = st.text(
    st.characters(codec="utf-8") | st.sampled_from(";,\t\"'=|") | st.sampled_from("K0123"),
    max_size=12,
)
TABLES = st.lists(st.lists(CELLS, min_size=1, max_size=5), min_size=1, max_size=8)


def table(text: str, **chosen: int):
    return fleet_table(read_pasted(text), chosen)


@pytest.mark.parametrize("between", [",", ";", "\t", "|"])
def test_headings_are_found_in_any_order(between: str) -> None:
    lines = ["Serial no,Where,Part,Kit", "A1,shelf,amp,1"]
    found = table("\n".join(lines).replace(",", between))
    assert found.columns.fields == {"serial": 0, "kind": 2, "kit": 3}
    assert found.columns.ignored == ("Where",) and found.lacking == ()
    assert [found.cell(found.rows[0], name) for name in ("kit", "kind")] == ["1", "amp"]


def test_three_columns_without_headings_are_read_by_their_kind() -> None:
    found = table("1\tA-17\tamplifier\n1\tC-3\tcharger")
    assert found.columns.fields == {"kit": 0, "serial": 1, "kind": 2}
    assert len(found.rows) == 2 and found.columns.head_row == 0


def test_what_no_heading_says_is_lacking_until_it_is_chosen() -> None:
    text = "Kit,Sort,No.\n1,amp,A1"
    assert table(text).lacking == ("kind", "serial")
    chosen = table(text, kind=1, serial=2)
    assert chosen.lacking == () and chosen.cell(chosen.rows[0], "serial") == "A1"
    assert table("Part,SN\namp,A1", kit=NO_COLUMN).lacking == ()
    # A column chosen for one thing is no longer another, and one beyond the table is none.
    assert table("Kit,Part,SN\n1,amp,A1", serial=1).lacking == ("kind",)
    assert "kind" in table(text, kind=40).lacking


def test_too_many_rows_and_none_are_refused() -> None:
    with pytest.raises(RosterUnreadable, match="no parts below"):
        table("Kit,Kind,Serial\n")
    rows = "\n".join(f"1,amp,A{n}" for n in range(MAX_FLEET_ROWS + 1))
    with pytest.raises(RosterUnreadable, match="Split"):
        table("Kit,Kind,Serial\n" + rows)


def test_cells_that_could_not_be_read_are_empty_in_the_text() -> None:
    rows = (SheetRow(1, ("Kit", "Kind", "Serial")), SheetRow(4, ("1", "amp", "x"), {2: "Bad."}))
    text = as_text(RosterSheet(rows))
    assert text == "Kit\tKind\tSerial\n\n\n1\tamp\t\n"
    (row,) = judge_fleet(fleet_table(RosterSheet(rows), {}), FleetOnFile(free={"amplifier": 1}))
    assert as_text(RosterSheet((SheetRow(1, ("x",), {0: "Bad."}),))) == "?\t\n"
    assert row.number == 4 and [fault.sentence for fault in row.faults] == ["Bad."]


def sheet_of(cells: list[list[str]]) -> RosterSheet | None:
    try:
        return read_pasted("\n".join("\t".join(row) for row in cells))
    except RosterUnreadable:
        return None


@settings(max_examples=150, deadline=None)
@given(TABLES)
def test_any_pasted_table_is_judged_row_by_row_or_refused_in_a_sentence(
    cells: list[list[str]],
) -> None:
    sheet = sheet_of([["Kit", "Kind", "Serial"], *cells])
    if sheet is None:
        return
    try:
        found = fleet_table(sheet, {})
    except RosterUnreadable as refusal:
        assert str(refusal).endswith(".")
        return
    rows = judge_fleet(found, FleetOnFile(free={"amplifier": 1, "charger": 1}))
    assert [row.number for row in rows] == [row.number for row in found.rows]
    for row in rows:
        assert bool(row.faults) == (row.outcome == FleetOutcome.WRONG)


@settings(max_examples=150, deadline=None)
@given(TABLES, st.sets(st.integers(2, 9)))
def test_the_text_in_the_box_reads_as_the_table_it_came_from(
    cells: list[list[str]], gone: set[int]
) -> None:
    sheet = sheet_of([["Kit", "Kind", "Serial"], *cells])
    if sheet is None:
        return
    left = without_rows(sheet, gone)
    again = read_pasted(as_text(left))
    one_line = [(row.number, tuple(" ".join(c.split()) for c in row.cells)) for row in left.rows]
    assert [(row.number, row.cells) for row in again.rows] == one_line


def test_a_swapped_head_of_the_kinds_is_named_once() -> None:
    heads, rows = "Kit\tKind\tSerial\n", "1\tA-17\tamplifier\n1\tC-3\tcharger\n"
    sentence = kind_elsewhere(table(heads + rows), {})
    assert "“Kind” (column B) holds no kinds of parts, “Serial” (column C) does" in sentence
    assert kind_elsewhere(table(heads + "1\tamp\tA-17\n"), {}) == ""
    assert kind_elsewhere(table("Kit\tSerial\n1\tA-17\n"), {}) == ""


def test_cells_beyond_the_last_head_are_no_column_in_the_box_either() -> None:
    found = table("Kit,Kind,Serial\n1,amp,A,17\n2,amp,B,18\n")
    assert found.columns.heads == ("Kit", "Kind", "Serial")
    again = fleet_table(read_pasted(as_text(read_pasted("Kit,Kind,Serial\n1,amp,A,17\n"))), {})
    assert judge_fleet(again, FleetOnFile())[0].outcome == FleetOutcome.WRONG
