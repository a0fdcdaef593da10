"""Rows are split into cells, and a cell is a number or it is not."""

import pytest

from readiness.signal.readers.cells import (
    is_number,
    is_words_row,
    looks_like_numbers,
    split_row,
    to_number,
)


@pytest.mark.parametrize(
    ("line", "delimiter", "cells"),
    [
        ("1,2,3", ",", ["1", "2", "3"]),
        ('"1,5";2', ";", ["1,5", "2"]),
        ('1, "a, b"', ",", ["1", "a, b"]),
        ('  1 \t"2"  3 ', " ", ["1", "2", "3"]),
        ("1;;3", ";", ["1", "", "3"]),
    ],
)
def test_quotes_and_blanks_keep_cells_together(line, delimiter, cells):
    assert split_row(line, delimiter) == cells


@pytest.mark.parametrize("cell", ["1", "-1.5", "+.5", "1.", "1e-3", "2.5E+10"])
def test_a_plain_decimal_is_a_number_with_either_mark(cell):
    assert is_number(cell, ".")
    with_comma = cell.replace(".", ",")
    assert is_number(with_comma, ",")
    assert to_number(with_comma, ",") == to_number(cell, ".") == float(cell)


@pytest.mark.parametrize("cell", ["", ".", "1_0", "0x1F", "1,5", "nan", "1 000", "\u0661", "--1"])
def test_anything_else_is_none(cell):
    assert not is_number(cell, ".")


@pytest.mark.parametrize(
    ("line", "numbers"),
    [
        ("1.5;2,5", True),
        ("nan, 3", True),
        ("nan, inf", False),
        ("emg 3", False),
        (";;;", False),
        ("", False),
    ],
)
def test_a_line_looks_like_numbers_in_some_dialect(line, numbers):
    assert looks_like_numbers(line) == numbers


def test_a_row_of_words_has_no_number_in_it():
    assert is_words_row(["t_s", "", "emg"], ".")
    assert not is_words_row(["emg", "1,5"], ",")
    assert not is_words_row(["emg", "nan"], ".")
    assert not is_words_row(["", " "], ".")
