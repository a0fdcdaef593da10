"""The faults: each is one small change of a module's syntax tree, written out as source again."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

COMPARED: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
}
COMPUTED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
    ast.Pow: ast.Mult,
    ast.BitOr: ast.BitAnd,
    ast.BitAnd: ast.BitOr,
}
SHOWN_LENGTH = 60
# What a type checker reads, and what only names things, carries no behaviour to test.
UNTOUCHED_FIELDS = {"annotation", "returns", "decorator_list", "type_comment"}
UNTOUCHED_NODES = (ast.Import, ast.ImportFrom, ast.JoinedStr)


@dataclass(frozen=True)
class Mutant:
    """A module with one fault: where, what was changed, and the whole faulty source."""

    line: int
    change: str
    source: str


@dataclass(frozen=True)
class _Place:
    """Where a node hangs in its parent; ``index`` is None where the field holds one node."""

    parent: ast.AST
    field: str
    index: int | None

    def put(self, node: ast.AST) -> None:
        if self.index is None:
            setattr(self.parent, self.field, node)
        else:
            getattr(self.parent, self.field)[self.index] = node


def mutants_of(source: str) -> Iterator[Mutant]:
    """Every fault of ``source``, from top to bottom."""
    tree = ast.parse(source)
    for node, place in _nodes(tree):
        for faulty in _faults(node):
            place.put(faulty)
            yield Mutant(getattr(node, "lineno", 0), _change(node, faulty), ast.unparse(tree))
            place.put(node)


def _nodes(parent: ast.AST) -> Iterator[tuple[ast.AST, _Place]]:
    for field, value in ast.iter_fields(parent):
        if field in UNTOUCHED_FIELDS:
            continue
        children = list(enumerate(value)) if isinstance(value, list) else [(None, value)]
        for index, child in children:
            if isinstance(child, ast.AST) and not isinstance(child, UNTOUCHED_NODES):
                yield child, _Place(parent, field, index)
                yield from _nodes(child)


def _change(node: ast.AST, faulty: ast.AST) -> str:
    """What was changed; of a longer display only the member that was taken out."""
    members = _members(node)
    if len(members) > 1:
        left = _members(faulty)
        gone = next(member for member in members if member not in left)
        return f"without {_in_short(gone)}"
    return f"{_in_short(node)} -> {_in_short(faulty)}"


def _members(node: ast.AST) -> list[ast.expr]:
    match node:
        case ast.Set(elements) | ast.List(elements):
            return elements
        case ast.Dict(keys, values):
            return [key or value for key, value in zip(keys, values, strict=True)]
    return []


def _in_short(node: ast.AST) -> str:
    words = " ".join(ast.unparse(node).split())
    return words if len(words) <= SHOWN_LENGTH else words[: SHOWN_LENGTH - 1] + "…"


def _faults(node: ast.AST) -> Iterator[ast.AST]:
    match node:
        case ast.Compare(left, [operator], [right]):
            for replacement in COMPARED[type(operator)]:
                yield ast.Compare(left, [replacement()], [right])
        case ast.Compare(left, operators, rights):
            yield from _faults_of_chain(left, operators, rights)
        case ast.BoolOp(operator, values):
            other_operator = ast.Or() if isinstance(operator, ast.And) else ast.And()
            yield ast.BoolOp(other_operator, values)
        case ast.BinOp(left, operator, right) if type(operator) in COMPUTED:
            yield ast.BinOp(left, COMPUTED[type(operator)](), right)
        case ast.AugAssign(target, operator, value) if type(operator) in COMPUTED:
            yield ast.AugAssign(target, COMPUTED[type(operator)](), value)
        case ast.UnaryOp(ast.Not() | ast.USub(), operand):
            yield operand
        case ast.Constant(value):
            yield from (ast.Constant(replacement) for replacement in _other_constants(value))
        case ast.Set(elements) | ast.List(elements, ast.Load()):
            yield from (_without(node, place) for place in range(len(elements)))
        case ast.Dict(keys, values):
            yield from (
                ast.Dict(keys[:place] + keys[place + 1 :], values[:place] + values[place + 1 :])
                for place in range(len(keys))
            )
        case ast.stmt():
            yield from _faults_of_statement(node)
        case ast.IfExp(test, body, orelse):
            yield ast.IfExp(test, orelse, body)
        case ast.comprehension(target, source, [test, *tests], is_async):
            yield ast.comprehension(target, source, [_negated(test), *tests], is_async)


def _faults_of_chain(
    left: ast.expr, operators: list[ast.cmpop], rights: list[ast.expr]
) -> Iterator[ast.AST]:
    for place, operator in enumerate(operators):
        for replacement in COMPARED[type(operator)]:
            yield ast.Compare(
                left, [*operators[:place], replacement(), *operators[place + 1 :]], rights
            )


def _faults_of_statement(node: ast.stmt) -> Iterator[ast.AST]:
    match node:
        case ast.Return(value) if value is not None and not _is_none(value):
            yield ast.Return(ast.Constant(None))
        case ast.Raise() | ast.Expr(ast.Call()):
            yield ast.Pass()
        case ast.If(test, body, orelse):
            yield ast.If(_negated(test), body, orelse)
        case ast.While(test, body, orelse):
            yield ast.While(_negated(test), body, orelse)
        case ast.Break():
            yield ast.Continue()
        case ast.Continue():
            yield ast.Break()


def _other_constants(value: Any) -> tuple[Any, ...]:
    if isinstance(value, bool):
        return (not value,)
    if isinstance(value, int | float):
        return (value + 1, value - 1)
    return ()


def _without(node: ast.Set | ast.List, place: int) -> ast.expr:
    left = node.elts[:place] + node.elts[place + 1 :]
    if isinstance(node, ast.List):
        return ast.List(left, ast.Load())
    return ast.Set(left) if left else ast.Call(ast.Name("set", ast.Load()), [], [])


def _negated(test: ast.expr) -> ast.expr:
    return ast.UnaryOp(ast.Not(), test)


def _is_none(value: ast.expr) -> bool:
    return isinstance(value, ast.Constant) and value.value is None
