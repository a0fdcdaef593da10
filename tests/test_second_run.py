"""What is repeated on PostgreSQL, by day and by night."""

from pathlib import Path

import pytest

from tests import second_run
from tests.second_run import HERE, NO_DATABASE, SAME_ON_BOTH, WHOLE, is_left_unread, repeated

ACTS, VIEWS = HERE / "rentals" / "actions" / "test_pack.py", HERE / "rentals" / "views"
QUERIES = HERE / "rentals" / "selectors" / "test_search.py"
SEALS = HERE / "rentals" / "seals" / "test_check.py"
DATABASE = pytest.mark.django_db.mark
TRANSACTIONS = pytest.mark.django_db(transaction=True).mark


class Item:
    """A test with marks of its own and the one of its file."""

    fixturenames = ()

    def __init__(
        self,
        name: str,
        path: Path = ACTS,
        *own: pytest.Mark,
        module: pytest.Mark = DATABASE,
        line: int = 0,
    ) -> None:
        self.name, self.path, self.location = name, path, (str(path), line, name)
        self.own_markers, self._marks = list(own), [*own, module]

    def iter_markers(self, kind: str) -> list[pytest.Mark]:
        return [mark for mark in self._marks if mark.name == kind]

    def get_closest_marker(self, kind: str) -> pytest.Mark | None:
        return next(iter(self.iter_markers(kind)), None)


def names(items: list[Item]) -> list[str]:
    return [each.name for each in repeated(items)]


@pytest.fixture
def by_day(monkeypatch) -> None:
    monkeypatch.setenv(second_run.SETTING, "1")


@pytest.fixture
def by_night(monkeypatch) -> None:
    monkeypatch.setenv(second_run.SETTING, "all")


MANY = [Item(f"{line}", line=line) for line in (4, 1, 3, 2)]


def test_the_first_run_leaves_nothing_out(monkeypatch):
    monkeypatch.delenv(second_run.SETTING, raising=False)
    assert repeated(MANY) == MANY
    assert not is_left_unread(HERE / "readiness" / "signal")


def test_by_day_the_acts_of_a_file_begin_on_both_databases(by_day):
    assert names(MANY) == ["1", "2"]
    assert names([*MANY, Item("a", SEALS)]) == ["1", "2", "a"]


def test_by_day_all_of_what_a_database_changes_is_repeated(by_day):
    assert names([Item(name, SEALS) for name in "abc"]) == ["a", "b", "c"]
    own = Item("own", ACTS, TRANSACTIONS, line=9)
    server = Item("server", ACTS, pytest.mark.postgres.mark, line=9)
    mail = Item("mail", ACTS, module=TRANSACTIONS, line=9)
    assert names([own, mail, server, *MANY]) == ["own", "server", "1", "2"]


def test_of_pages_only_what_has_its_own_transactions_is_repeated_by_day(by_day):
    page = VIEWS / "test_messages.py"
    assert names([Item("page", page)]) == []
    assert names([Item("page", page, module=TRANSACTIONS)]) == ["page"]


def test_by_night_all_is_repeated_but_what_no_database_changes(by_night):
    pages = [Item("page", VIEWS / "test_messages.py")]
    same = Item("same", ACTS, pytest.mark.any_database.mark)
    pure = Item("pure", module=pytest.mark.slow.mark)
    assert names([*MANY, same, pure, *pages]) == ["4", "1", "3", "2", "page"]
    assert {path for path in VIEWS.rglob("test_*.py") if is_left_unread(path)} == set()


def test_of_the_pages_only_those_that_name_a_database_are_read_again_by_day(by_day):
    pages = set(VIEWS.rglob("test_*.py"))
    read = {path for path in pages if not is_left_unread(path)}
    assert read and len(read) < len(pages) / 2
    for path in read:
        text = path.read_text(encoding="utf-8")
        assert "transaction=True" in text or "mark.postgres" in text
    assert not is_left_unread(VIEWS) and not is_left_unread(ACTS)


def test_what_is_named_is_there_and_where_no_database_is_none_is_asked_for():
    for place in NO_DATABASE | SAME_ON_BOTH | WHOLE:
        assert place.exists(), place
    driven = {HERE / "browser", HERE / "engines"}
    for path in (path for place in NO_DATABASE - driven for path in place.rglob("*.py")):
        text = path.read_text(encoding="utf-8")
        named = [word for word in ("django_db", "(db", "signed_in", "factories") if word in text]
        assert not named, path


def test_of_one_thing_done_at_many_addresses_a_share_is_repeated_by_day(by_day):
    path = HERE / "test_hostile_requests.py"
    addresses = [Item(f"{number:02}", path) for number in range(12)]
    assert all(place.exists() for place in second_run.ONE_IN)
    assert names(addresses) == ["00", "05", "10"]


def test_of_what_pages_ask_every_other_test_is_repeated_by_day(by_day):
    asked = [Item(str(number), QUERIES) for number in range(5)]
    own = Item("own", QUERIES, TRANSACTIONS, line=9)
    assert names([*asked, own]) == ["0", "2", "4", "own"]
