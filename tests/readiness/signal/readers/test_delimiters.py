"""Delimiter and decimal mark of a text, told from its first rows."""

from __future__ import annotations

import pytest

from readiness.signal.errors import CaptureRefused
from readiness.signal.readers.delimiters import Dialect, find_dialect


@pytest.mark.parametrize(
    ("rows", "names", "dialect"),
    [
        (["1.5\t2.5"], "", Dialect("\t", ".")),
        (["1,5;2,5"], "", Dialect(";", ",")),
        (["1.5,2.5"], "", Dialect(",", ".")),
        (["1,5 2,5", "3 4,5"], "", Dialect(" ", ",")),
        (["1.5 2.5"], "", Dialect(" ", ".")),
        (["1.5"], "", Dialect(",", ".")),
        (["1,5"], "emg", Dialect(";", ",")),
        (["1,5"], "a,b", Dialect(",", ".")),
        (["1,5"], "", Dialect(",", ".", undecided=True)),
        (["1,5,2"], "", Dialect(",", ".")),
        (['"1,5","2,5"'], "", Dialect(",", ",")),
        (['"1.5","2.5"'], "", Dialect(",", ".")),
    ],
)
def test_rows_tell_how_they_are_written(rows, names, dialect):
    assert find_dialect(rows, names) == dialect


@pytest.mark.parametrize(
    ("delimiter", "decimal", "dialect"),
    [
        ("", ",", Dialect(";", ",")),
        (";", ",", Dialect(";", ",")),
        (",", "", Dialect(",", ".")),
        ("", ".", Dialect(",", ".")),
    ],
)
def test_an_answer_decides_what_the_rows_leave_open(delimiter, decimal, dialect):
    assert find_dialect(["1,5", "2,5"], "", delimiter, decimal) == dialect


def test_two_decimal_marks_are_refused():
    with pytest.raises(CaptureRefused, match="mixed: '1,5' and '2.5'"):
        find_dialect(["1,5;2.5"], "")
