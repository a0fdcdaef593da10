"""Rows with more cells than heads."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rentals.roster.overfull import cells_of, is_overfull, joined
from rentals.roster.sheet import SheetRow

pytestmark = pytest.mark.any_database

FIELDS = {"name": 0, "email": 1, "street": 2, "city": 3, "postcode": 4}


def row(*cells: str, width: int = 0) -> SheetRow:
    return SheetRow(2, cells, {}, width or len(cells))


def test_what_is_overfull() -> None:
    assert is_overfull(row("a", "b", "c"), 2, 2)
    assert is_overfull(row("a", "b", width=3), 2, 2)
    assert not is_overfull(row("a", "b", width=3), 2, 3)
    assert cells_of(row("a", "b", width=3), 2) == 3


def test_the_torn_cell_is_found_wherever_it_is() -> None:
    name = joined(row("Berg", "Ada", "a@x.example", "Lane 1", "Rosinburg", "12345"), FIELDS, 5)
    assert name and name.text == "Berg, Ada" and name.row.cells[1] == "a@x.example"
    street = joined(row("Ada", "a@x.example", "Lane 1", "Apt 1", "Hof", "Ort", "12345"), FIELDS, 5)
    assert street and street.text == "Lane 1, Apt 1, Hof"


def test_no_reading_is_made_up() -> None:
    assert joined(row("a", "b", "c", "d", "e", "f"), FIELDS, 5) is None


@settings(max_examples=60, deadline=None)
@given(st.lists(st.text(max_size=12), min_size=1, max_size=9))
def test_nothing_is_lost_when_cells_are_put_together(cells: list[str]) -> None:
    whole = joined(row(*cells), FIELDS, 5)
    if whole:
        assert ", ".join(whole.row.cells) == ", ".join(cells)
        assert len(whole.row.cells) == 5
