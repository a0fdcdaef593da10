"""What the second run, on PostgreSQL, repeats.

By night all that touches the database and is not marked ``any_database``. By day all of what a
database can change by itself: locks, guards, constraints, migrations, the log's seals. Of what
pages ask, every other test. Of the acts and whatever else lies above, the first tests of each file:
so each act writes, commits and is refused on both databases, and what it says of rows is judged
once.
"""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path

import pytest

HERE = Path(__file__).resolve().parent
SETTING = "KITDESK_DATABASE_ONLY"
"""The environment's name for how much: "1" by day, "all" by night; unset in the first run."""
NO_DATABASE = {
    HERE / name
    for name in (
        *("browser", "engines", "kitdesk/mutation", "readiness/charts", "readiness/intake"),
        *("readiness/judgement", "readiness/signal", "rentals/planning", "rentals/roster"),
    )
}
"""Folders whose tests look at no database, or need a browser."""
SAME_ON_BOTH = {
    HERE / name
    for name in (
        *("external", "kitdesk/door/test_description.py", "kitdesk/practice_maker"),
        *("readiness/views", "rentals/paper", "rentals/views", "rentals/web"),
    )
}
"""What pages, papers and long walks make of rows that the tests of actions and selectors read on
both databases: repeated by night only, but for the first of those with transactions of their own.
"""
NAMES_A_DATABASE = ("transaction=True", "mark.postgres")
WHOLE = {
    HERE / name
    for name in (
        *("readiness/models", "rentals/seals", "rentals/verifying", "test_emptied.py"),
        *("rentals/test_arrival_guard.py", "rentals/test_constraints.py"),
        *("rentals/test_found_migration.py", "rentals/test_ledger_guard.py"),
        *("rentals/test_ledger_migration.py", "rentals/test_photo_migration.py"),
        *("rentals/test_transaction.py", "rentals/test_verify.py"),
        *("rentals/actions/test_claim_mail.py", "rentals/actions/test_errand_claims.py"),
        *("rentals/actions/test_leases.py", "rentals/actions/test_once.py"),
        *("rentals/actions/test_races.py", "kitdesk/test_lasting_worker.py"),
    )
}
"""Files and folders of what a database can change by itself."""
OF_EACH_FILE = 2
ONE_IN = {
    HERE / "readiness/selectors": 2,
    HERE / "rentals/selectors": 2,
    HERE / "test_hostile_requests.py": 5,
}
"""Of each file here one test in so many is repeated by day: they ask the same rows for much that is
alike.
"""


def is_left_unread(path: Path) -> bool:
    """Whether no test in this file or folder can be repeated: it is not even gathered."""
    how_much = os.environ.get(SETTING)
    if how_much and path in NO_DATABASE:
        return True
    if how_much != "1" or not path.name.startswith("test_") or not _lies_in(SAME_ON_BOTH, path):
        return False
    text = path.read_text(encoding="utf-8")
    return not any(word in text for word in NAMES_A_DATABASE)


def repeated(items: Iterable[pytest.Item]) -> list[pytest.Item]:
    """Those of the tests that the hour repeats, in their order; all of them in the first run."""
    how_much = os.environ.get(SETTING)
    if not how_much:
        return list(items)
    judged = [item for item in items if _uses_database(item) and not _has(item, "any_database")]
    if how_much == "all":
        return judged
    few = _first_of_each_file(item for item in judged if not _is_always_repeated(item))
    return [item for item in judged if item in few or _is_always_repeated(item)]


def _first_of_each_file(items: Iterable[pytest.Item]) -> set[pytest.Item]:
    """As the files are written, whatever order the tests run in: the same ones every day."""
    by_file: dict[Path, list[pytest.Item]] = defaultdict(list)
    for item in items:
        if not _lies_in(SAME_ON_BOTH, item.path) or _has_own_transactions(item):
            by_file[item.path].append(item)
    return {item for path, tests in by_file.items() for item in _few_of(path, tests)}


def _few_of(path: Path, tests: list[pytest.Item]) -> list[pytest.Item]:
    in_order = sorted(tests, key=lambda test: (_line(test), test.name))
    step = next((ONE_IN[place] for place in (path, *path.parents) if place in ONE_IN), None)
    return in_order[::step] if step else in_order[:OF_EACH_FILE]


def _line(item: pytest.Item) -> int:
    return item.location[1] or 0


def _is_always_repeated(item: pytest.Item) -> bool:
    """Where it lies says so, or the test itself; that all of a file have transactions of their own
    is how mails leave, and says nothing of locks.
    """
    if _has(item, "postgres") or _lies_in(WHOLE, item.path):
        return True
    return any(_is_own_transaction(mark) for mark in item.own_markers)


def _has_own_transactions(item: pytest.Item) -> bool:
    return any(_is_own_transaction(mark) for mark in item.iter_markers("django_db"))


def _is_own_transaction(mark: pytest.Mark) -> bool:
    return mark.name == "django_db" and bool(mark.kwargs.get("transaction"))


def _has(item: pytest.Item, marker: str) -> bool:
    return item.get_closest_marker(marker) is not None


def _lies_in(places: set[Path], path: Path) -> bool:
    return path in places or not places.isdisjoint(path.parents)


def _uses_database(item: pytest.Item) -> bool:
    fixtures = {"db", "transactional_db", "django_db_setup", "live_server"}
    asked = fixtures.intersection(getattr(item, "fixturenames", ()))
    return bool(asked) or _has(item, "django_db")
