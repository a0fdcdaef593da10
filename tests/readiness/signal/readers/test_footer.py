"""Words below the numbers."""

from __future__ import annotations

import pytest

from readiness.signal.readers.footer import without_footer

pytestmark = pytest.mark.any_database
ROWS = b"t_s;emg\n0.0;1.5\n0.1;2.5"


@pytest.mark.parametrize(
    "footer",
    [b"\nEnd", b"\nEnd of data", b"\n\nSamples: 10000", b"\n\nStopped by the operator\nBye"],
)
def test_a_footer_is_taken_off(footer):
    assert without_footer(ROWS + footer) == ROWS


@pytest.mark.parametrize(
    "rest",
    [b"\n0.2;err", b"\nerr;2.5", b"\nerr;err", b"\n0.2", b"\n0.2;", b"\n\n0.3;1.0", b"\nnan;nan"],
)
def test_a_row_is_none_even_where_text_stands_in_it(rest):
    assert without_footer(ROWS + rest) == ROWS + rest


def test_a_word_where_a_sample_should_stand_is_none():
    assert without_footer(b"1.5\n2.5\nerr") == b"1.5\n2.5\nerr"
    assert without_footer(b"1.5\n2.5\n\nend") == b"1.5\n2.5"
    assert without_footer(b"only words\nand more") == b"only words\nand more"
