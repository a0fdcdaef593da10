"""Steps that an owner leaves out, and steps of their own."""

import pytest

from rentals.planning.guide_changes import changed_tree
from rentals.planning.guide_steps import GuideEnd
from rentals.planning.guide_trees import TREES

pytestmark = pytest.mark.any_database


def test_a_left_out_step_is_passed_as_if_it_could_not_be_done():
    tree = changed_tree(TREES["flat"], {"switched_on", "cells_way", "cells_fresh"})
    assert tree.first == "program_sees"
    assert tree.steps["program_sees"].no == "plugs_in"


def test_own_steps_come_before_the_trace_in_their_order():
    tree = changed_tree(TREES["flat"], own=["own.1", "own.2"])
    assert tree.steps["look_leads"].no == "own.1"
    assert tree.steps["own.1"].no == "own.2"
    assert tree.steps["own.1"].yes == GuideEnd.SOLVED
    assert tree.steps["own.2"].could_not == "send_trace"


def test_own_steps_stay_where_the_trace_is_left_out_and_where_none_is_asked_for():
    without = changed_tree(TREES["flat"], {"send_trace"}, ["own.1"])
    assert without.steps["own.1"].no == GuideEnd.REPORT
    cells = changed_tree(TREES["cells"], own=["own.1"])
    assert cells.steps["cells_fresh"].no == "own.1"
    assert cells.steps["own.1"].no == GuideEnd.REPORT
    assert cells.steps["cells_look"].yes == GuideEnd.STOP


def test_with_every_step_left_out_the_way_leads_to_the_report_at_once():
    tree = TREES["hum"]
    assert changed_tree(tree, set(tree.steps)).first == GuideEnd.REPORT
