"""States are members of their classes everywhere: no comparison or filter with a bare string."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.apps import apps
from django.db.models import Field

from rentals.planning import settlement
from rentals.states import UNSETTLED_STATES, ShortfallState

ROOT = Path(__file__).parent.parent
PACKAGES = ("kitdesk", "rentals", "readiness")
FIELDS = {"state", "stage", "status", "place", "outcome", "verdict", "standing", "held_from"}


def _modules() -> Iterator[Path]:
    """All but migrations."""
    for package in PACKAGES:
        for path in sorted((ROOT / package).rglob("*.py")):
            if "migrations" not in path.parts:
                yield path


def _strings(node: ast.expr) -> bool:
    """Whether an expression is a text, or a tuple, list or set of texts."""
    if isinstance(node, ast.Constant):
        return isinstance(node.value, str) and node.value != ""
    if isinstance(node, ast.Tuple | ast.List | ast.Set):
        return bool(node.elts) and all(_strings(element) for element in node.elts)
    return False


def _state_name(node: ast.expr) -> bool:
    if isinstance(node, ast.Attribute):
        return node.attr in FIELDS
    if isinstance(node, ast.Subscript):
        return isinstance(node.slice, ast.Constant) and node.slice.value in FIELDS
    # A variable called "place" may hold many things, a field of that name is a state.
    return isinstance(node, ast.Name) and node.id in FIELDS - {"place"}


def _keyword_of_state(name: str | None) -> bool:
    *_, last = (name or "").removesuffix("__in").split("__")
    return last.removeprefix("current_") in FIELDS


def bare_strings(source: str) -> list[int]:
    """Lines on which a state is compared with, filtered by or set to a bare string."""
    lines = []
    for node in ast.walk(ast.parse(source)):
        match node:
            case ast.Compare(left=left, comparators=[right]):
                pairs = ((left, right), (right, left))
                if any(_state_name(a) and _strings(b) for a, b in pairs):
                    lines.append(node.lineno)
            case ast.keyword(arg=name, value=value) if _keyword_of_state(name) and _strings(value):
                lines.append(value.lineno)
            case ast.Match(subject=subject, cases=cases) if _state_name(subject):
                lines += [
                    case.pattern.lineno
                    for case in cases
                    if isinstance(case.pattern, ast.MatchValue) and _strings(case.pattern.value)
                ]
    return lines


@pytest.mark.parametrize(
    "source",
    [
        'kit.state == "held"',
        '"fit" != found["verdict"]',
        'kit.state not in ("held", "bench")',
        'Kit.objects.filter(state="bench")',
        'Q(loans__stage__in=["away"])',
        'match kit.state:\n    case "held":\n        pass',
    ],
)
def test_a_bare_string_is_found(source: str) -> None:
    assert bare_strings(source)


def test_no_state_is_compared_with_a_bare_string() -> None:
    found = [
        f"{path.relative_to(ROOT)}:{line}"
        for path in _modules()
        for line in bare_strings(path.read_text(encoding="utf-8"))
    ]
    assert found == []


def _state_fields() -> Iterator[Field]:
    for model in apps.get_models():
        if model.__module__.startswith(PACKAGES):
            yield from (field for field in model._meta.fields if field.name in FIELDS)


@pytest.mark.parametrize("field", list(_state_fields()), ids=str)
def test_a_state_on_file_is_one_of_its_class(field: Field) -> None:
    assert field.choices


@pytest.mark.parametrize("module", ["rentals.states", "rentals.lifecycle", "readiness.states"])
def test_the_states_and_the_life_table_need_no_settings(module: str) -> None:
    code = f"import {module}; from django.conf import settings; assert not settings.configured"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


def test_the_rules_of_money_name_the_states_as_they_stand_on_file() -> None:
    assert settlement.CHARGED == ShortfallState.CHARGED
    assert list(settlement.UNDECIDED) == UNSETTLED_STATES
