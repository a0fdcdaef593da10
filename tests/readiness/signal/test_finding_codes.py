"""Every finding code that judges compare with is one that can be found."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from readiness.signal.bench_tests.findings import FINDING_KINDS

READINESS = Path(__file__).parents[3] / "readiness"
ROOMS = ("signal", "judgement")


def _is_code(node: ast.expr) -> bool:
    """``item.code`` or ``finding["code"]``."""
    if isinstance(node, ast.Subscript):
        return isinstance(node.slice, ast.Constant) and node.slice.value == "code"
    return isinstance(node, ast.Attribute) and node.attr == "code"


def _assigned(tree: ast.AST) -> Iterator[tuple[str, ast.expr]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign):
            for target in node.targets:
                if isinstance(target, ast.Name):
                    yield target.id, node.value


def _texts(node: ast.expr, values: dict[str, list[ast.expr]]) -> Iterator[str]:
    """The texts an operand stands for, through the names of its module."""
    match node:
        case ast.Constant(value=str(text)):
            yield text
        case ast.Tuple(elts=elements) | ast.List(elts=elements) | ast.Set(elts=elements):
            for element in elements:
                yield from _texts(element, values)
        case ast.Call(func=ast.Name(id="frozenset"), args=[collection]):
            yield from _texts(collection, values)
        case ast.Name(id=name):
            for value in values.get(name, []):
                yield from _texts(value, {})


def codes_compared(source: str) -> set[str]:
    """Texts that a module compares with ``.code``, or meets a set of codes with."""
    tree = ast.parse(source)
    values: dict[str, list[ast.expr]] = {}
    for name, value in _assigned(tree):
        values.setdefault(name, []).append(value)

    def is_set_of_codes(node: ast.expr) -> bool:
        if isinstance(node, ast.Name):
            return any(is_set_of_codes(value) for value in values.get(node.id, []))
        return isinstance(node, ast.SetComp) and _is_code(node.elt)

    codes: set[str] = set()
    for node in ast.walk(tree):
        match node:
            case ast.Compare(left=a, comparators=[b]) if _is_code(a) or _is_code(b):
                codes |= {*_texts(a, values), *_texts(b, values)}
            case ast.BinOp(left=a, op=ast.BitAnd(), right=b):
                if is_set_of_codes(a) or is_set_of_codes(b):
                    codes |= {*_texts(a, values), *_texts(b, values)}
    return codes - {"code"}


@pytest.mark.parametrize(
    "source",
    [
        'item.code == "opn_lead"',
        'SILENT = frozenset({"opn_lead"})\nany(item.code in SILENT for item in found)',
        'codes = {item.code for item in found}\ncodes & {"opn_lead"}',
        'finding["code"] not in ("opn_lead",)',
    ],
)
def test_a_code_is_seen(source: str) -> None:
    assert codes_compared(source) == {"opn_lead"}


def test_every_code_compared_with_is_a_finding() -> None:
    modules = [path for room in ROOMS for path in (READINESS / room).rglob("*.py")]
    compared = {path.name: codes_compared(path.read_text(encoding="utf-8")) for path in modules}
    unknown = {name: codes - set(FINDING_KINDS) for name, codes in compared.items()}
    assert {name: codes for name, codes in unknown.items() if codes} == {}
    seen = set().union(*compared.values())
    assert len(seen) > 8, "the codes are not seen any more"
