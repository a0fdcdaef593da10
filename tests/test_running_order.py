"""In which order the suite runs."""

from types import SimpleNamespace

import pytest

from tests.conftest import _long_first


def items_of(marks: str) -> list[SimpleNamespace]:
    """A test for each letter; the capitals are long."""

    def item(mark: str) -> SimpleNamespace:
        return SimpleNamespace(name=mark, get_closest_marker=lambda name: mark.isupper() or None)

    return [item(mark) for mark in marks]


@pytest.mark.parametrize(
    ("given", "processes", "ordered"),
    [
        ("aBcDef", 1, "BDacef"),
        ("aBcDef", 2, "BacDef"),
        ("abcABCDEF", 3, "ABaCDbEFc"),
        ("abc", 2, "abc"),
        ("", 3, ""),
    ],
)
def test_each_process_begins_with_its_share_of_the_long_ones(given, processes, ordered):
    assert "".join(item.name for item in _long_first(items_of(given), processes)) == ordered
