"""Every requirement of the list names a test that is there, or the reason why it needs none."""

import ast
import re
from importlib import import_module
from pathlib import Path

import pytest
from django.conf import settings
from django.forms import ModelForm
from django.urls import get_resolver

from tests.test_hostile_requests import routes

pytestmark = pytest.mark.any_database
ROOT = Path(__file__).resolve().parents[2]
BOUND = re.compile(r"\| [^|]+ \| (\d+)( MiB)?( days)? \| `([\w.]+?)\.([A-Z_]+)(\.\w+)?` \|")
#: Parts of addresses and of names that tools of developers bring along.
TOOLS = ("admin", "__debug__", "silk", "debug_toolbar", "browser_reload", "swagger", "graphiql")
#: A place in an object that is named by what the script was given, and written to.
BY_NAME = re.compile(r"[\w\])]\[(?!['\"\d])[^\[\]]+\]\s*=(?![=>])|__proto__|\.prototype\b")
ROW = re.compile(r"\| ([\d.]+) \| ([123]) \| [^|]+ \| (.+) \|")
OURS = ("rentals", "readiness", "kitdesk")
#: Of each of these chapters at least one requirement is held or set aside.
CHAPTERS = set(range(1, 18))


def _rows() -> list[tuple[str, str]]:
    text = (ROOT / "kitdesk" / "asvs.md").read_text(encoding="utf-8")
    table = text.partition("## What takes much")[0]
    rows = [line for line in table.splitlines() if line.startswith("| ")][2:]
    matches = [ROW.fullmatch(row) for row in rows]
    assert all(matches), rows
    return [(match[1], match[3]) for match in matches if match]


def _tests_in(path: Path) -> set[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}


def test_every_requirement_names_a_test_or_a_reason():
    lacking = []
    for number, holder in _rows():
        named = re.fullmatch(r"`(tests/[\w/]+\.py)::(test_\w+)`", holder)
        reason = holder.startswith("does not apply: ")
        if not reason and not (named and named[2] in _tests_in(ROOT / named[1])):
            lacking.append((number, holder))
    assert not lacking


def test_no_requirement_is_listed_twice_and_no_chapter_is_forgotten():
    numbers = [number for number, _ in _rows()]
    assert len(numbers) == len(set(numbers))
    assert {int(number.split(".")[0]) for number in numbers} == CHAPTERS


def test_each_bound_is_as_it_is_written():
    text = (ROOT / "kitdesk" / "asvs.md").read_text(encoding="utf-8")
    bounds = BOUND.findall(text.partition("## What takes much")[2])
    assert len(bounds) == 4
    for number, mebibytes, _, module, name, fact in bounds:
        value = getattr(import_module(module), name)
        value = getattr(value, fact.removeprefix(".")) if fact else value
        assert value == int(number) * (2**20 if mebibytes else 1), name


def test_nothing_for_developers_is_served():
    addresses = [route.split("/")[0] for route in routes(get_resolver())]
    assert not [one for one in (*addresses, *settings.INSTALLED_APPS) if one in TOOLS]
    assert not [name for name in settings.INSTALLED_APPS if name.split(".")[-1] in TOOLS]
    source = (ROOT / "kitdesk" / "settings.py").read_text(encoding="utf-8")
    assert 'env.bool("DEBUG", default=False)' in source


def test_no_script_writes_by_a_name_from_outside():
    scripts = sorted((ROOT / "static" / "kitdesk" / "js").glob("*.js"))
    assert scripts
    found = [(path.name, BY_NAME.findall(path.read_text(encoding="utf-8"))) for path in scripts]
    assert [one for one in found if one[1]] == []


def test_forms_name_each_field_that_may_be_set():
    """All fields of a model are taken nowhere: a further column would be open to whoever posts."""
    list(routes(get_resolver()))
    kinds = [kind for kind in ModelForm.__subclasses__() if kind.__module__.startswith(OURS)]
    assert len(kinds) > 5
    assert [
        kind.__name__ for kind in kinds if not isinstance(kind._meta.fields, list | tuple)
    ] == []
