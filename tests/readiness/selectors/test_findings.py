"""A finding as a line of a page."""

from __future__ import annotations

import pytest

from readiness.selectors.findings import finding_line
from readiness.selectors.next_steps import NextStep

FINDING = {
    "code": "open_lead",
    "lead": "B",
    "verdict": "not fit",
    "text": "Lead B is open.",
    "action": "Replace lead B",
}


@pytest.mark.parametrize(
    ("changes", "label", "note", "advice"),
    [
        ({}, "Replace lead B", False, ""),
        ({}, "Swap the lead set", False, "Replace lead B"),
        ({"verdict": "note"}, "Replace lead B", True, "Replace lead B"),
    ],
)
def test_the_action_is_written_out_where_no_button_says_it(changes, label, note, advice):
    line = finding_line(FINDING | changes, NextStep(label, "/kits/K0014E/"))
    assert (line.note, line.advice) == (note, advice)
    assert line.text == "Lead B is open."
    assert "B" in line.title
