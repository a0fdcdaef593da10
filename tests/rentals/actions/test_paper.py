"""Sheets of labels that a practice measures itself."""

from __future__ import annotations

from decimal import Decimal

import pytest

from rentals.actions.paper import remove_sheet, save_sheet
from rentals.errors import Refused
from rentals.models import LabelSheet
from rentals.paper.sheets import KIT_SHEET, SHEETS
from rentals.selectors.paper_facts.sheets import layouts_at_hand

pytestmark = pytest.mark.django_db


def sheet(**changes: object) -> LabelSheet:
    facts = {
        "name": "Two by seven",
        "columns": 2,
        "label_width": Decimal("99.1"),
        "label_height": Decimal("38.1"),
        "pitch_across": Decimal("101.6"),
        "pitch_down": Decimal("38.1"),
        "margin_left": Decimal("4.65"),
        "margin_top": Decimal("15.15"),
    }
    return LabelSheet(**facts | changes)


def test_a_kept_sheet_is_at_hand_beside_the_built_in_ones_until_it_is_removed():
    kept = save_sheet(sheet())
    kept.nudge_down = Decimal("-0.5")
    save_sheet(kept)
    assert layouts_at_hand()["Two by seven"].nudge == (0.0, -0.5)
    remove_sheet(kept)
    assert layouts_at_hand() == SHEETS


@pytest.mark.parametrize(
    ("changes", "field", "sentence"),
    [
        ({"name": KIT_SHEET.name}, "name", "built-in sheet has this name"),
        ({"name": "Taken"}, "name", "Another sheet of yours"),
        ({"rows": 8}, "", "These measures do not work: 8 rows reach to"),
    ],
)
def test_a_sheet_that_cannot_be_is_not_kept(changes, field, sentence):
    save_sheet(sheet(name="Taken"))
    with pytest.raises(Refused, match=sentence) as refusal:
        save_sheet(sheet(**changes))
    assert refusal.value.field == field
    assert LabelSheet.objects.count() == 1
