"""A fleet's table is registered whole, under lock, or not at all."""

import pytest

from rentals.actions.fleet import FleetRegistered, register_fleet
from rentals.errors import Refused
from rentals.models import Event, Kit, KitType, Part
from rentals.roster.fleet_rows import fingerprint, judge_fleet
from rentals.roster.fleet_table import fleet_table
from rentals.roster.text_table import read_pasted
from rentals.selectors.fleet import fleet_on_file
from rentals.verify import verify
from tests.factories import KitTypeFactory, assigned_loan, complete_kit, packed_loan, spare

pytestmark = pytest.mark.django_db


def registered(kit_type: KitType, *rows: str, **how: object) -> FleetRegistered:
    table = fleet_table(read_pasted("\n".join(["Kit;Kind;Serial", *rows])), {})
    seen = fingerprint(judge_fleet(table, fleet_on_file(table, kit_type)))
    return register_fleet(table, kit_type, seen=seen, **how)


def test_one_own_name_is_one_kit_and_every_act_is_in_the_history(owner) -> None:
    rows = ("Blue;amp;A1", "blue;charger;C1", ";amp;A2")
    done = registered(KitTypeFactory(), *rows, actor=owner)
    assert done == FleetRegistered(kits=1, parts=3, fitted=2)
    kit = Kit.objects.get()
    assert kit.note == "Blue" and not kit.cleared
    verbs = list(Event.objects.filter(kit=kit).order_by("number").values_list("verb", flat=True))
    assert verbs == ["registered", "fitted", "fitted"]
    assert set(Event.objects.values_list("actor_name", flat=True)) == {owner.username}
    assert Part.objects.get(serial="A2").place == "spare" and verify() == []


def test_a_part_that_goes_into_an_assigned_kit_joins_its_packing_list() -> None:
    kit = complete_kit()
    charger = kit.parts.get(kind="charger")
    Part.objects.filter(pk=charger.pk).update(kit=None, place="lost")
    loan = assigned_loan(kit)
    registered(kit.kit_type, f"{kit.code};charger;C9")
    assert loan.packing_lines.filter(serial="C9").exists()
    kit.refresh_from_db()
    assert not kit.cleared


@pytest.mark.parametrize("serial", ["A1", "a1"])
def test_a_row_in_the_way_leaves_nothing_behind(serial: str) -> None:
    kit_type, taken = KitTypeFactory(), packed_loan().kit
    spare("amplifier", "A1")
    Part.objects.filter(serial="A1").update(damaged=True)
    with pytest.raises(Refused, match=r"1 row stands in the way \(row 3\)"):
        registered(kit_type, "1;leads;L1", f"1;amp;{serial}")
    with pytest.raises(Refused, match="in the way"):
        registered(kit_type, f"{taken.code};charger;C1")
    assert not Part.objects.filter(serial__in=["L1", "C1"]).exists()
    assert not Kit.objects.filter(note="1").exists()


def test_a_fleet_on_file_and_another_preview_are_refused() -> None:
    kit_type = KitTypeFactory()
    registered(kit_type, "1;amp;A1")
    with pytest.raises(Refused, match="on file already"):
        registered(kit_type, "1;amp;a1")
    table = fleet_table(read_pasted("Kit;Kind;Serial\n2;amp;A2"), {})
    with pytest.raises(Refused, match="not as it was in the preview"):
        register_fleet(table, kit_type, seen="")
    assert Kit.objects.count() == 1
