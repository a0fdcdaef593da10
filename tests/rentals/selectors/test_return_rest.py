"""What one press of a return check would settle."""

import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive, note_line
from rentals.selectors.return_rest import rest_of
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db


def test_the_rest_names_its_lines_and_what_each_step_is_for():
    check = arrive(dispatch(packed_loan().kit).kit)
    rest = rest_of(check.lines.all())
    assert rest.names == "2 × Wrist band, Shipping box"
    assert [str(line.packing_line) for line in rest.to_clean] == ["2 × Wrist band"]
    assert rest.to_charge == ()
    band = check.lines.get(packing_line__part_kind="band")
    note_line(band, "missing")
    note_line(check.lines.get(packing_line__part_kind="battery_pack"), "back")
    rest = rest_of(check.lines.all())
    assert rest.names == "Shipping box" and rest.to_clean == ()
    assert [str(line.packing_line) for line in rest.to_charge] == ["Battery pack"]
