"""A number and its noun agree in the sentences of the measurement."""

import pytest

from readiness.signal.counts import counted


@pytest.mark.parametrize(
    ("number", "words"), [(0, "0 samples"), (1, "1 sample"), (2, "2 samples"), (101, "101 samples")]
)
def test_the_noun_goes_with_its_number(number, words):
    assert counted(number, "sample", "samples") == words
