"""Kits and parts for lists and pages."""

from __future__ import annotations

import pytest

from rentals.actions.issue import retire
from rentals.models import Loan, Part
from rentals.selectors.kits import (
    kit_rows,
    kits_listed,
    marks_in_list,
    marks_on_page,
    parts_listed,
    refusal_of,
    spares_for,
    with_open_loans,
    with_sort_facts,
)
from tests.factories import assigned_loan, complete_kit, packed_loan, spare

pytestmark = pytest.mark.django_db


def test_kits_are_found_by_code_student_run_and_state():
    loan = assigned_loan()
    kit, run = loan.kit, loan.enrolment.run
    bare = complete_kit(kit.kit_type, cleared=False)
    gone = complete_kit(kit.kit_type)
    retire(gone, reason="worn out")
    code = f"{kit.code[:3]} {kit.code[3:]}".lower()
    for q in (code, loan.enrolment.student.name, run.name):
        assert list(kits_listed(q)) == [kit]
    assert list(kits_listed(state="not_cleared")) == [bare]
    assert list(kits_listed(state="retired")) == [gone]
    assert gone not in kits_listed()
    [listed] = with_open_loans(kits_listed(code))
    assert listed.open_loans == [loan]


def test_a_row_says_what_matters_in_its_state():
    loan = packed_loan()
    today = loan.due_on
    [row] = kit_rows(kits_listed(loan.kit.code), today)
    assert row.due is None
    assert (row.holder.name, row.holder.run) == (
        loan.enrolment.student.name,
        loan.enrolment.run.name,
    )
    assert row.holder.url == loan.enrolment.student.get_absolute_url()
    Loan.objects.update(stage="away")
    [row] = kit_rows(kits_listed(loan.kit.code), today)
    assert row.due.word == "due today"
    kit = row.kit

    bare = complete_kit(kit.kit_type, cleared=False)
    assert len(marks_on_page(bare)) == 2 > len(marks_in_list(bare))
    assert refusal_of(bare) == bare.not_cleared_reason
    assert refusal_of(kit) == ""


def test_a_list_works_out_only_what_it_is_sorted_by():
    complete_kit()
    [kit] = with_sort_facts(kits_listed(), ("code",))
    assert not {"life", "worst", "due"} & vars(kit).keys()
    [kit] = with_sort_facts(kits_listed(), ("cleared", "worst"))
    assert vars(kit)["worst"] == 101.0 and "due" not in vars(kit)


def test_parts_are_found_by_code_serial_kit_and_place():
    kit = complete_kit()
    spares = (spare("charger"), spare("charger", damaged=True))
    loose, damaged = (Part.objects.get(pk=each.pk) for each in spares)
    assert list(parts_listed(loose.code.lower())) == [loose]
    assert list(parts_listed(loose.serial)) == [loose]
    assert set(parts_listed(kit.code)) == set(kit.parts.all())
    assert list(parts_listed(kind="charger", place="damaged")) == [damaged]
    assert loose in parts_listed(place="spare")
    assert list(spares_for(kit)) == list(spares_for(kit, "charger")) == [loose]
    assert list(spares_for(kit, "battery_pack")) == []
