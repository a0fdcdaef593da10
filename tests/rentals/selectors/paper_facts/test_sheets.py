"""Sheets that the practice measured, beside those built in."""

from __future__ import annotations

import pytest

from rentals.models import LabelSheet
from rentals.paper.sheets import SHEETS
from rentals.selectors.paper_facts.sheets import layout_of, layouts_at_hand

MEASURES = {
    "name": "Two by seven",
    "page_width": 210,
    "page_height": 297,
    "columns": 2,
    "rows": 7,
    "label_width": "99.1",
    "label_height": "38.1",
    "pitch_across": "101.6",
    "pitch_down": "38.1",
    "margin_left": "4.65",
    "margin_top": "15.15",
}


def test_a_row_becomes_a_layout_or_says_what_does_not_fit():
    layout = layout_of(LabelSheet(**MEASURES))
    assert (layout.name, layout.count, layout.nudge) == ("Two by seven", 14, (0.0, 0.0))
    with pytest.raises(ValueError, match="8 rows reach to"):
        layout_of(LabelSheet(**MEASURES | {"rows": 8}))


@pytest.mark.django_db
def test_own_sheets_stand_beside_the_built_in_ones():
    LabelSheet.objects.create(**MEASURES)
    assert set(layouts_at_hand()) == {*SHEETS, "Two by seven"}
