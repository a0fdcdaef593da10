"""Walking through a tree with what was answered."""

import pytest

from rentals.planning.guide_steps import GuideAnswer, GuideEnd, SymptomTree, looked, tried, walk

pytestmark = pytest.mark.any_database
YES, NO, COULD_NOT = GuideAnswer


@pytest.fixture
def tree() -> SymptomTree:
    steps = [
        tried("plug", "look"),
        looked("look", yes=GuideEnd.STOP, no="cells", could_not=GuideEnd.REPORT),
        tried("cells", GuideEnd.REPORT),
    ]
    return SymptomTree("flat", "plug", {step.key: step for step in steps})


def test_without_answers_a_way_stands_at_its_first_step(tree):
    assert walk(tree, {}).at == tree.steps["plug"]


def test_each_answer_leads_where_its_step_says(tree):
    assert walk(tree, {"plug": YES}).at is GuideEnd.SOLVED
    assert walk(tree, {"plug": COULD_NOT, "look": YES}).at is GuideEnd.STOP
    assert walk(tree, {"plug": NO, "look": COULD_NOT}).at is GuideEnd.REPORT
    assert walk(tree, {"plug": NO, "look": NO}).at == tree.steps["cells"]


def test_the_answered_steps_come_in_the_order_of_the_way_and_those_off_it_are_left_alone(tree):
    done = walk(tree, {"cells": NO, "gone": YES, "plug": NO, "look": COULD_NOT})
    assert [(step.key, answer) for step, answer in done.answered] == [
        ("plug", NO),
        ("look", COULD_NOT),
    ]
