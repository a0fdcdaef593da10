"""In which order the suite runs, and what its second run leaves unread."""

from types import SimpleNamespace

import pytest

from tests.conftest import HERE, _long_first, pytest_ignore_collect

VIEWS = HERE / "rentals" / "views"


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


def test_of_the_pages_only_those_that_name_a_database_are_read_again_by_day(monkeypatch):
    def left_out() -> set[str]:
        files = VIEWS.rglob("test_*.py")
        return {path.name for path in files if pytest_ignore_collect(path)}

    assert left_out() == set()
    monkeypatch.setenv("KITDESK_DATABASE_ONLY", "all")
    assert left_out() == set()
    monkeypatch.setenv("KITDESK_DATABASE_ONLY", "1")
    read = {path.name for path in VIEWS.rglob("test_*.py")} - left_out()
    assert read and len(read) < len(left_out())
    for name in read:
        text = next(VIEWS.rglob(name)).read_text(encoding="utf-8")
        assert "transaction=True" in text or "mark.postgres" in text
    assert not pytest_ignore_collect(VIEWS)
    assert not pytest_ignore_collect(HERE / "rentals" / "actions" / "test_pack.py")
