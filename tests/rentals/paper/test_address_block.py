import pytest

from rentals.paper.address_block import LARGEST, SMALLEST, address_block, is_right_to_left
from rentals.paper.ink import Ink

pytestmark = pytest.mark.any_database


def test_a_short_address_is_large_and_a_long_line_is_set_smaller_before_it_is_broken():
    ink = Ink("Block")
    short = address_block(ink, ["A Name", "Town"], 80, 50)
    assert (short.size, short.lines) == (LARGEST, ("A Name", "Town"))
    longer = address_block(ink, ["Maximiliana Theodora Sonnenblumenfeld"], 80, 50)
    assert 10 <= longer.size < LARGEST
    assert len(longer.lines) == 1
    broken = address_block(ink, ["Maximiliana Theodora Sonnenblumenfeld " * 3], 80, 50)
    assert broken.size == 10
    assert len(broken.lines) > 1


def test_below_the_smallest_readable_type_there_is_no_block():
    ink = Ink("Block")
    lines = [f"Line {n}" for n in range(6)]
    needed = 8 * SMALLEST * 1.2 / 72 * 25.4
    assert address_block(ink, lines, 60, needed + 0.1, country="IRELAND").size == SMALLEST
    assert address_block(ink, lines, 60, needed - 0.1, country="IRELAND") is None


def test_the_script_of_most_lines_decides_where_they_end():
    assert is_right_to_left(["سارة العلي", "الرياض 11564", "Street 5"])
    assert not is_right_to_left(["سارة العلي", "Street 5", "12345 TOWN"])
    assert not is_right_to_left(["12345", "Town"])
    assert not is_right_to_left([])
