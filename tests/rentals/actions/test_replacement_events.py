"""A replacement's events hold what was sent."""

import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.packing_list import list_hash
from rentals.actions.replace_part import ask_replacement, send_replacement
from rentals.actions.replacement_events import lock_replacement, slip_hash
from tests.factories import packed_loan, spare

pytestmark = pytest.mark.django_db


def test_the_slip_is_empty_before_the_parcel_goes():
    loan = dispatch(packed_loan().kit)
    line = loan.packing_lines.get(part_kind="charger")
    row = ask_replacement(line, why="Hot", part=spare("charger"))
    assert slip_hash(lock_replacement(row)) == ""
    send_replacement(row)
    assert slip_hash(row) == list_hash(row.lines.all())
    told = [event.data["act"] for event in loan.events.filter(data__has_key="replacement")]
    assert sorted(told) == ["asked", "sent"]
