"""Every kind of fault, on sources of a line or two."""

import ast

import pytest

from kitdesk.mutation.core import CORE, ROOT
from kitdesk.mutation.operators import mutants_of


def _sources(source: str) -> set[str]:
    return {mutant.source for mutant in mutants_of(source)}


@pytest.mark.parametrize(
    ("sound", "faulty"),
    [
        ("x < y", {"x <= y", "x >= y"}),
        ("x == y", {"x != y"}),
        ("x in y", {"x not in y"}),
        ("x is y", {"x is not y"}),
        ("a < b <= c", {"a <= b <= c", "a >= b <= c", "a < b < c", "a < b > c"}),
        ("x and y", {"x or y"}),
        ("not x", {"x"}),
        ("x + y", {"x - y"}),
        ("x ** y", {"x * y"}),
        ("x -= y", {"x += y"}),
        ("x = True", {"x = False"}),
        ("x = 7", {"x = 8", "x = 6"}),
        ("x = {a, b}", {"x = {a}", "x = {b}"}),
        ("x = {a}", {"x = set()"}),
        ("x = {a: b, c: d}", {"x = {a: b}", "x = {c: d}"}),
        ("x if y else z", {"z if y else x"}),
        ("forget(x)", {"pass"}),
        ("[x for x in y if x]", {"[x for x in y if not x]"}),
    ],
)
def test_each_fault_of_a_line(sound, faulty):
    assert _sources(sound) == faulty


@pytest.mark.parametrize(
    ("sound", "faulty"),
    [
        ("return x", "return None"),
        ("raise x", "pass"),
        ("if x:\n    y = z", "if not x:\n    y = z"),
        ("while x:\n    y = z", "while not x:\n    y = z"),
    ],
)
def test_each_fault_of_a_statement(sound, faulty):
    def inside(lines: str) -> str:
        body = "\n".join(f"    {line}" for line in lines.splitlines())
        return f"def act():\n{body}"

    assert inside(faulty) in _sources(inside(sound))


def test_words_types_and_imports_are_left_alone():
    source = 'from a import b\n\ndef act(x: list[int]=a) -> int | None:\n    """Words."""\n    x.y'
    assert not list(mutants_of(source))


def test_a_fault_says_where_it_is_and_what_it_changed():
    first, second = list(mutants_of("a = b\nc = {d, e}"))
    assert (first.line, first.change) == (2, "without d")
    assert (second.line, second.change) == (2, "without e")


@pytest.mark.parametrize("module", CORE, ids=lambda module: module.name)
def test_the_core_and_its_tests_are_there_and_every_fault_is_sound_python(module):
    assert all((ROOT / path).is_file() for path in module.tests)
    mutants = list(mutants_of(module.path.read_text(encoding="utf-8")))
    assert len(mutants) > 5
    for mutant in mutants:
        ast.parse(mutant.source)
