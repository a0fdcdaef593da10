"""Plain decimals are read column by column to the very doubles that ``float`` reads."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.signal.readers.plain_decimals import read_decimals

pytestmark = pytest.mark.any_database

CELLS = st.from_regex(r"[+-]?([0-9]{1,8}(\.[0-9]{0,7})?|\.[0-9]{1,7})", fullmatch=True)


@settings(max_examples=60, deadline=None)
@given(
    rows=st.lists(st.tuples(CELLS, CELLS, CELLS), min_size=1, max_size=6),
    marks=st.sampled_from([(",", "."), (";", "."), ("\t", "."), (";", ","), ("\t", ",")]),
)
def test_each_value_is_the_double_that_float_reads(rows, marks):
    delimiter, decimal = marks
    text = "\n".join(delimiter.join(row) for row in rows).replace(".", decimal)
    values = read_decimals(text.encode(), delimiter, decimal, 3)
    wanted = np.array([[float(cell) for cell in row] for row in rows])
    np.testing.assert_array_equal(values.view(np.int64), wanted.view(np.int64))


@pytest.mark.parametrize(
    "body",
    [
        b"1,2\n3",
        b"1,2\n3,4,5\n6",
        b"1,2,3\n4",
        b"1..2,3",
        b"1.2.3,4\n5,6",
        b"1,2.3.4\n5,6",
        b".,3",
        b"-,3",
        b"1-,3",
        b"--1,2",
        b" 1,2",
        b"1e3,2",
        b"nan,2",
        b"1,2\n\n3,4",
        b",1",
        b"1234567890123456,1",
        b"",
    ],
)
def test_what_is_no_plain_decimal_is_left_to_others(body):
    assert read_decimals(body, ",", ".", 2) is None
