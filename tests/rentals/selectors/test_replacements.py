"""Replacements as a loan's page shows them."""

import pytest
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.replace_part import ask_replacement, send_replacement
from rentals.dates import short_date
from rentals.selectors.replacements import replaced_by_itself, replacement_rows
from tests.factories import packed_loan, spare

pytestmark = pytest.mark.django_db


def test_a_row_says_how_it_stands_and_what_can_be_done():
    loan, today = dispatch(packed_loan().kit), timezone.localdate()
    line = loan.packing_lines.get(part_kind="charger")
    row = ask_replacement(line, why="Hot", part=spare("charger"), back_by=today)
    (shown,) = replacement_rows(loan)
    assert [step.act for step in shown.steps] == ["Pack and send it", "Cancel it"]
    assert shown.words == f"The faulty one is due back by itself on {short_date(today)}."
    assert replaced_by_itself(line.part_code) == row
    send_replacement(row)
    (shown,) = replacement_rows(loan)
    assert [step.act for step in shown.steps] == ["The faulty one is here"]
