"""Which of the given files are one recording."""

from __future__ import annotations

import pytest

from readiness.signal.readers.pairs import paired

pytestmark = pytest.mark.any_database


def test_a_header_goes_with_the_signal_file_of_its_name():
    names = ["b.csv", "x.dat", "a/x.HEA", "a/x.dat", "y.hea", "z.dat"]
    assert paired(names) == [
        ("b.csv", None),
        ("x.dat", None),
        ("a/x.HEA", "a/x.dat"),
        ("y.hea", None),
        ("z.dat", None),
    ]
