"""A packing list follows the kit: drawn up on assignment, kept up to date, frozen when packed."""

from decimal import Decimal

import pytest
from django.core.management import call_command

from rentals.actions.issue import unassign
from rentals.actions.pack import tick, unpack
from rentals.actions.packing_list import draw_up_missing
from rentals.actions.register import fit_part, remove_part, swap_part
from rentals.actions.setup import move_line, remove_line, save_line
from rentals.models import Part
from tests.factories import assigned_loan, complete_kit, packed_loan, spare

pytestmark = pytest.mark.django_db


def names(loan) -> list[str]:
    return [line.name for line in loan.packing_lines.all()]


def ticked(loan) -> list[str]:
    return [line.name for line in loan.packing_lines.filter(ticked_at__isnull=False)]


def test_assigning_draws_up_the_list():
    loan = assigned_loan()
    assert len(names(loan)) == 8
    assert set(loan.packing_lines.exclude(part=None).values_list("part__kit", flat=True)) == {
        loan.kit_id
    }


def test_a_swapped_part_takes_its_line_and_all_other_ticks_stay():
    loan = assigned_loan()
    for line in loan.packing_lines.all():
        tick(line)
    new = spare("charger")
    swap_part(loan.kit, loan.kit.parts.get(kind="charger"), new)
    assert loan.packing_lines.get(part_kind="charger").part_code == new.code
    assert len(ticked(loan)) == 7 and "Charger" not in ticked(loan)


def test_a_part_taken_out_leaves_the_list_and_comes_back_with_the_next():
    loan = assigned_loan()
    remove_part(loan.kit, loan.kit.parts.get(kind="charger"), to=Part.Place.REPAIR)
    assert "Charger" not in names(loan)
    fit_part(loan.kit, spare("charger"))
    assert "Charger" in names(loan)


def test_a_changed_contents_line_is_on_the_lists_that_are_not_frozen():
    frozen, loan = packed_loan(), assigned_loan()
    for kit in (frozen.kit, loan.kit):
        for line in kit.kit_type.lines.filter(part_kind="charger"):
            line.replacement_price = Decimal("99")
            save_line(line)
    assert loan.packing_lines.get(part_kind="charger").replacement_price == Decimal("99")
    assert frozen.packing_lines.get(part_kind="charger").replacement_price == Decimal("22")


def test_a_removed_or_moved_line_changes_the_list():
    loan = assigned_loan()
    first, second = loan.kit.kit_type.lines.all()[:2]
    move_line(second, up=True)
    assert names(loan)[:2] == [second.name, first.name]
    remove_line(second)
    assert second.name not in names(loan)


def test_unpacking_draws_up_a_list_without_ticks():
    loan = packed_loan()
    unpack(loan.kit)
    assert len(names(loan)) == 8 and not ticked(loan)


def test_a_kit_taken_back_has_no_list():
    loan = assigned_loan()
    unassign(loan.kit)
    assert not names(loan)


def test_a_kit_without_a_list_gets_one_by_the_clock():
    loan = assigned_loan()
    loan.packing_lines.all().delete()
    complete_kit()
    assert draw_up_missing() == 1
    assert draw_up_missing() == 0
    assert len(names(loan)) == 8
    loan.packing_lines.all().delete()
    call_command("tick", verbosity=0)
    assert len(names(loan)) == 8
