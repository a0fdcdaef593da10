"""Numbers of rows as they are sent."""

import pytest

from rentals.row_numbers import LONGEST, RowNumberConverter, row_number

MOST = 2**63 - 1


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("7", 7),
        ("0", 0),
        ("9" * LONGEST, 10**LONGEST - 1),
        ("9" * (LONGEST + 1), None),
        (str(MOST + 1), None),
        ("-1", None),
        ("1.5", None),
        ("²", None),
        ("", None),
    ],
)
def test_only_what_a_row_can_have_is_a_number(text, number):
    assert row_number(text) == number
    assert number is None or number <= MOST


def test_a_number_stands_in_an_address_as_it_is_written():
    converter = RowNumberConverter()
    assert converter.to_python(converter.to_url(42)) == 42
