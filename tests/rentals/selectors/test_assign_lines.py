"""A plan as a list of before and after, with reasons."""

from datetime import timedelta

import pytest
from django.utils.timezone import localdate

from rentals.actions.dispatch import dispatch
from rentals.actions.earmark import set_aside
from rentals.actions.issue import hold, refuse_clearance
from rentals.selectors.assign_lines import assign_list
from tests.factories import CourseRunFactory, EnrolmentFactory, complete_kit, packed_loan

pytestmark = pytest.mark.django_db


def test_only_who_must_get_another_kit_gets_one_and_it_is_said_why() -> None:
    kits = [complete_kit()]
    kits += [complete_kit(kits[0].kit_type) for _ in range(3)]
    run = CourseRunFactory(kit_type=kits[0].kit_type)
    students = EnrolmentFactory.create_batch(3, run=run)
    rows = {row.pk: kit.code for row, kit in zip(students, kits, strict=False)}
    set_aside(rows)
    assert not assign_list([run], localdate(), anew=False).changing
    refuse_clearance(kits[1], reason="Lead A is open.")
    planned = assign_list([run], localdate(), anew=False)
    assert planned.changing == {students[1].pk: kits[3].code}
    first = planned.lines[0]
    assert (first.before, first.after) == (kits[1].code, kits[3].code)
    assert f"{kits[1].code} is to be mended first" in first.why and "here and cleared" in first.why
    assert planned.levels[0] == "Everybody has a kit."
    hold(kits[0], reason="A strap is missing.")
    again = assign_list([run], localdate(), anew=False)
    assert f"{kits[0].code} is held or out of use" in "".join(line.why for line in again.lines)


def test_what_lacks_and_whom_to_chase_is_said() -> None:
    away = dispatch(packed_loan().kit)
    run = CourseRunFactory(kit_type=away.kit.kit_type, starts_on=away.due_on + timedelta(days=4))
    EnrolmentFactory.create_batch(2, run=run)
    planned = assign_list([run], localdate(), anew=True)
    assert planned.levels[0] == "1 student has no kit."
    assert "lack from" in planned.lacks[0]
    assert any(away.enrolment.student.name in sentence for sentence in planned.mends)
    assert [line.why for line in planned.lines if not line.after] == ["no kit is free in time"]
