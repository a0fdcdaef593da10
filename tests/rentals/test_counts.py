"""A number and its noun agree."""

import pytest

from rentals.counts import counted


@pytest.mark.parametrize(
    ("number", "words"), [(0, "0 kits"), (1, "1 kit"), (2, "2 kits"), (101, "101 kits")]
)
def test_the_noun_goes_with_its_number(number, words):
    assert counted(number, "kit", "kits") == words
