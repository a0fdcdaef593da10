"""Every way through every tree, as it is and as an owner may have changed it."""

from collections.abc import Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rentals.guide_texts import GUIDE_TEXTS
from rentals.planning.guide_changes import changed_tree
from rentals.planning.guide_steps import Asks, GuideAnswer, GuideEnd, SymptomTree, is_end
from rentals.planning.guide_trees import SEND_TRACE, TREES

pytestmark = pytest.mark.any_database
OWN = ("own.1", "own.2")
STEPS = {key: step for tree in TREES.values() for key, step in tree.steps.items()}
STEP_KEYS = tuple(STEPS)
SHOWING = [key for key, step in STEPS.items() if step.asks is Asks.SHOWS]


def ways(tree: SymptomTree, key: str, before: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """Every way from a step to an end, as the keys it passes; fails at a loop or a dead end."""
    if is_end(key):
        yield (*before, key)
        return
    assert key in tree.steps, f"{tree.symptom}: {before} ends at {key}, which is nothing"
    assert key not in before, f"{tree.symptom}: {key} comes twice on {before}"
    step = tree.steps[key]
    for then in {step.leads_to(answer) for answer in GuideAnswer}:
        yield from ways(tree, then, (*before, key))


@pytest.mark.parametrize("symptom", TREES)
def test_every_way_ends_solved_or_in_a_report_and_every_step_is_on_one(symptom):
    tree = TREES[symptom]
    found = list(ways(tree, tree.first))
    assert {way[-1] for way in found} == set(GuideEnd)
    assert {key for way in found for key in way} == set(tree.steps) | set(GuideEnd)


@pytest.mark.parametrize("symptom", TREES)
def test_a_student_who_cannot_do_anything_ends_in_a_report_that_is_no_alarm(symptom):
    tree = TREES[symptom]
    key = tree.first
    while not is_end(key):
        key = tree.steps[key].leads_to(GuideAnswer.COULD_NOT)
    assert key == GuideEnd.REPORT


@settings(max_examples=50, deadline=None)
@given(st.sampled_from(sorted(TREES)), st.sets(st.sampled_from(STEP_KEYS + OWN)), st.integers(0, 2))
def test_whatever_an_owner_leaves_out_or_adds_every_way_still_ends(symptom, left_out, number):
    tree = TREES[symptom]
    own = OWN[:number]
    changed = changed_tree(tree, left_out, own)
    passed = {key for way in ways(changed, changed.first) for key in way[:-1]}
    assert not passed & left_out
    assert passed <= {*tree.steps, *own}
    if not left_out:
        assert passed == {*tree.steps, *own}


def test_every_step_symptom_and_caution_has_its_words_and_no_text_is_of_nothing():
    symptoms = {f"guide.symptom.{name}.{part}" for name in TREES for part in ("title", "hint")}
    steps = {
        f"guide.step.{key}.{part}" for key in STEP_KEYS for part in ("title", "try", "rules_out")
    } - {f"guide.step.{SEND_TRACE}.rules_out"}
    questions = {f"guide.step.{key}.question" for key in SHOWING}
    cautions = {
        f"guide.caution.{step.caution}"
        for tree in TREES.values()
        for step in tree.steps.values()
        if step.caution
    }
    assert set(GUIDE_TEXTS) == symptoms | steps | questions | cautions
    assert all(str(words).strip() for words in GUIDE_TEXTS.values())
