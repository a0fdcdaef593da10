"""Marks within numbers that can mean one thing only."""

from __future__ import annotations

import pytest

from readiness.signal.readers.number_marks import MOST_BYTES, plain_numbers

pytestmark = pytest.mark.any_database


@pytest.mark.parametrize(
    ("written", "plain"),
    [
        ("1'234.5;2", "1234.5;2"),
        ("-12\u2019345\u2019678", "-12345678"),
        ("1\u00a0234,5\t2", "1234,5\t2"),
        ("0.1\t1\u202f234", "0.1\t1234"),
        ("\u22121.5", "-1.5"),
        ("1.5D-03 2.0d+00", "1.5e-03 2.0e+00"),
        ("1,234.5;0.1\n12,345;0.2", "1234.5;0.1\n12345;0.2"),
        ("1.234,5;0,1\n12.345;0,2", "1234,5;0,1\n12345;0,2"),
        ('0.1,"1,234.5"\n0.2,"-2,345"', '0.1,"1234.5"\n0.2,"-2345"'),
    ],
)
def test_dressed_numbers_are_undressed(written, plain):
    assert plain_numbers(written.encode()) == plain.encode()


@pytest.mark.parametrize(
    "text",
    [
        "1,234\n5,678",
        "0.1,234.5\n0.2,345.5",
        "1,234;0,5\n2,345;0,6",
        "1.234;5.678",
        "1,234.5\n2,345.5",
        "0,123.4;1.5",
        "12'34;5",
        "1'2345",
        '"1,234","5,678"',
    ],
)
def test_what_can_mean_two_things_stays(text):
    assert plain_numbers(text.encode()) == text.encode()


def test_latin_1_and_a_file_too_large_for_a_capture():
    assert plain_numbers(b"1\xa0234,5;2") == b"1234,5;2"
    large = b"1'234;" * (MOST_BYTES // 6 + 1)
    assert plain_numbers(large) is large
