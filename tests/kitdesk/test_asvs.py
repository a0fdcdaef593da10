"""Every requirement of the list names a test that is there, or the reason why it needs none."""

import ast
import re
from pathlib import Path

import pytest

pytestmark = pytest.mark.any_database
ROOT = Path(__file__).resolve().parents[2]
ROW = re.compile(r"\| ([\d.]+) \| ([123]) \| [^|]+ \| (.+) \|")
#: Of each of these chapters at least one requirement is held or set aside.
CHAPTERS = set(range(1, 18))


def _rows() -> list[tuple[str, str]]:
    text = (ROOT / "kitdesk" / "asvs.md").read_text(encoding="utf-8")
    rows = [line for line in text.splitlines() if line.startswith("| ")][2:]
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
