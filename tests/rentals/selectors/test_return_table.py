"""The checks under way at the table, and whose a scanned part is."""

import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive, note_line
from rentals.selectors.return_table import (
    checks_under_way,
    due_elsewhere,
    line_under_way,
    lines_on_the_table,
)
from tests.factories import complete_kit, packed_loan

pytestmark = pytest.mark.django_db


def test_checks_count_their_lines_and_parts_are_found_on_them():
    away = dispatch(packed_loan().kit)
    check = arrive(dispatch(packed_loan().kit).kit)
    charger = check.lines.get(packing_line__part_kind="charger")
    note_line(charger, "back")
    (row,) = checks_under_way()
    assert (row.seen, row.total) == (1, 7)
    code = charger.packing_line.part_code
    assert line_under_way(code) == charger
    assert lines_on_the_table().filter(part_code=code).exists()
    out = away.kit.parts.get(kind="charger").code
    assert away.enrolment.student.name in due_elsewhere(out)
    assert line_under_way(out) is None
    assert due_elsewhere(complete_kit().parts.first().code) == ""
