"""A number and its noun agree."""

import pytest

from rentals.counts import counted, pieces


@pytest.mark.parametrize(
    ("number", "words"), [(0, "0 kits"), (1, "1 kit"), (2, "2 kits"), (101, "101 kits")]
)
def test_the_noun_goes_with_its_number(number, words):
    assert counted(number, "kit", "kits") == words


@pytest.mark.parametrize(
    ("number", "line"),
    [(1, "Charging cable"), (2, "2 × Charging cable"), (24, "24 × Charging cable")],
)
def test_a_single_piece_goes_unsaid(number, line):
    assert pieces(number, "Charging cable") == line
