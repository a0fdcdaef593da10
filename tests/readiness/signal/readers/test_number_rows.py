"""Clean rows are read in one go; anything else is left to be read cell by cell."""

import numpy as np
import pytest

from readiness.signal.readers import number_rows
from readiness.signal.readers.number_rows import NumberRows, read_clean

HEAD = b"a,b\n"


def clean(body: bytes, *, delimiter: str = ",", decimal: str = ".") -> np.ndarray | None:
    return read_clean(NumberRows(HEAD + body, len(HEAD), 2, 2, delimiter, decimal, None))


@pytest.mark.parametrize(
    ("body", "dialect"),
    [
        (b"1,2.5\n3,4", {}),
        (b'"1","2.5"\n3,4', {}),
        (b"1;2,5\n3;4", {"delimiter": ";", "decimal": ","}),
        (b"1  2.5\n3 4", {"delimiter": " "}),
    ],
)
@pytest.mark.parametrize("small", [number_rows.SMALL, 0])
def test_clean_rows_are_the_same_however_they_are_read(monkeypatch, body, dialect, small):
    monkeypatch.setattr(number_rows, "SMALL", small)
    np.testing.assert_array_equal(clean(body, **dialect), [[1, 2.5], [3, 4]])


@pytest.mark.parametrize(
    ("body", "dialect"),
    [
        (b"1,2\n\n3,4", {}),
        (b"1,2\n3", {}),
        (b"1,x", {}),
        (b'1,"2', {}),
        (b'"1" 2', {"delimiter": " "}),
        (b"1,5,2,5", {"decimal": ","}),
        (b"1;2.5", {"delimiter": ";", "decimal": ","}),
        ("1,\u0662".encode(), {}),
    ],
)
def test_rows_that_need_a_closer_look_are_not_read(body, dialect):
    assert clean(body, **dialect) is None


def test_lines_are_counted_from_the_first_number_on():
    rows = NumberRows(HEAD + b"1,2\n\n3,4", len(HEAD), 2, 2, ",", ".", None)
    assert rows.lines == 3
    assert rows.stream().readline() == b"1,2\n"
