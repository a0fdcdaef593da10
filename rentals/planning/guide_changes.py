"""What an owner changes in a tree: steps left out, and steps of their own."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from rentals.planning.guide_steps import GuideStep, SymptomTree, is_end, tried


def changed_tree(
    tree: SymptomTree, left_out: Collection[str] = (), own: Sequence[str] = ()
) -> SymptomTree:
    """A tree with the steps of the keys in `own` before whatever its ways ended with, and without
    the steps in `left_out`; a left-out step is passed as if it could not be done.
    """
    return _without(_with_own(tree, own), left_out)


def _with_own(tree: SymptomTree, own: Sequence[str]) -> SymptomTree:
    """Own steps come last, before the trace is sent; in a tree without that, before the report."""
    if not own:
        return tree
    last = _last_of(tree)
    ways = {key: _led(step, {last: own[0]}) for key, step in tree.steps.items()}
    follows = [*own[1:], last]
    ways |= {key: tried(key, then) for key, then in zip(own, follows, strict=True)}
    return replace(tree, first=own[0] if tree.first == last else tree.first, steps=ways)


def _last_of(tree: SymptomTree) -> str:
    """What own steps stand before: the step that asks for a trace, else the end of what could not
    be mended.
    """
    asking = [key for key, step in tree.steps.items() if step.sends_trace]
    return asking[0] if asking else list(tree.steps.values())[-1].no


def _led(step: GuideStep, elsewhere: Mapping[str, str]) -> GuideStep:
    """A step whose ways lead elsewhere, by where they led."""
    return replace(
        step,
        yes=elsewhere.get(step.yes, step.yes),
        no=elsewhere.get(step.no, step.no),
        could_not=elsewhere.get(step.could_not, step.could_not),
    )


def _without(tree: SymptomTree, left_out: Collection[str]) -> SymptomTree:
    passed = {key: _beyond(tree, key, left_out) for key in tree.steps if key in left_out}
    kept = {key: _led(step, passed) for key, step in tree.steps.items() if key not in left_out}
    return replace(tree, first=passed.get(tree.first, tree.first), steps=kept)


def _beyond(tree: SymptomTree, key: str, left_out: Collection[str]) -> str:
    """The first step, or the end, that is not left out on the way on from a step."""
    while not is_end(key) and key in left_out:
        key = tree.steps[key].could_not
    return key
