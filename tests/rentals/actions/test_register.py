"""A changed kit is another kit."""

import pytest

from rentals.actions.register import (
    fit_part,
    mark_damaged,
    place_part,
    register_and_fit,
    register_kit,
    register_part,
    remove_part,
    swap_part,
)
from rentals.models import Lead, Part
from tests.factories import complete_kit, packed_loan, spare
from tests.rentals.actions.acts import events_after

pytestmark = pytest.mark.django_db


def test_changing_a_part_takes_the_clearance_away():
    kit = complete_kit()
    swap_part(kit, kit.parts.get(kind="lead_set"), spare("lead_set"))
    kit.refresh_from_db()
    assert (kit.state, kit.cleared) == ("bench", False)
    assert "test the kit" in kit.not_cleared_reason


def test_a_part_is_taken_out_of_its_own_kit_only_and_to_a_place_that_exists():
    kit, other = complete_kit(), complete_kit()
    part = kit.parts.first()
    spare = Part.Place.SPARE
    assert events_after(lambda: remove_part(other, part, to=spare), "is not in kit") == 0
    assert events_after(lambda: remove_part(kit, part, to="kit"), "Say where the part goes") == 0


def test_a_part_that_sits_in_a_kit_is_fitted_nowhere_else():
    kit, other = complete_kit(), complete_kit()
    part = kit.parts.first()
    assert events_after(lambda: fit_part(kit, part), "is in this kit already") == 0
    assert events_after(lambda: fit_part(other, part), "take it out there first") == 0


def test_a_part_in_repair_is_no_sound_spare():
    kit = complete_kit()
    part = kit.parts.first()
    remove_part(kit, part, to=Part.Place.REPAIR)
    part.refresh_from_db()
    assert events_after(lambda: fit_part(kit, part), "not a sound spare") == 0


def test_a_serial_is_given_and_belongs_to_one_part_of_its_kind():
    fitted = complete_kit().parts.get(kind="charger")
    assert events_after(lambda: register_part("charger", "  "), "Give the serial number") == 0
    twin = f"is already {fitted.code} .in kit {fitted.kit.code}"
    assert events_after(lambda: register_part("charger", fitted.serial), twin) == 0
    assert register_part("battery_pack", fitted.serial).place == "spare"


def test_a_damaged_part_does_not_go_to_the_spares_but_comes_back_to_them_sound():
    kit = complete_kit()
    leads = kit.parts.get(kind="lead_set")
    mark_damaged(leads, "kinked", lead="B")
    assert events_after(lambda: remove_part(kit, leads, to="spare"), "send it to repair") == 0
    remove_part(kit, leads, to="repair")
    place_part(leads, "spare", reason="new plug")
    leads.refresh_from_db()
    assert (leads.place, leads.damaged, leads.damage_note) == ("spare", False, "")
    assert not Lead.objects.filter(lead_set_id=leads.pk, damaged=True).exists()


def test_a_part_is_moved_by_hand_only_while_it_is_in_no_kit_and_to_a_place_that_exists():
    part = complete_kit().parts.first()
    assert events_after(lambda: place_part(part, "lost"), "take it out there first") == 0
    assert events_after(lambda: place_part(spare("charger"), "kit"), "Say where the part goes") == 1


def test_like_is_swapped_for_like():
    kit = complete_kit()
    charger, pack = kit.parts.get(kind="charger"), spare("battery_pack")
    assert events_after(lambda: swap_part(kit, charger, pack), "swap like for like") == 0


def test_a_kit_has_one_place_for_each_part_of_its_list():
    kit = complete_kit()
    further = spare("charger")
    assert events_after(lambda: fit_part(kit, further), "no free place for a charger") == 0
    assert events_after(lambda: fit_part(kit, "P0000X"), "There is no part P0000X") == 0


def test_damage_is_noted_where_the_part_is_and_takes_the_clearance_away():
    kit, loose = complete_kit(), spare("charger")
    mark_damaged(loose, "cracked")
    assert loose.events.last().text == "Marked damaged: cracked."
    mark_damaged(kit.parts.get(kind="lead_set"), "", lead="ground")
    kit.refresh_from_db()
    assert not kit.cleared
    assert kit.parts.get(kind="lead_set").damage_note == "ground lead"
    packed = packed_loan().kit
    mark_damaged(packed.parts.get(kind="charger"), "wet")
    assert "marked damaged (wet)" in packed.events.filter(verb="noted").last().text


def test_a_new_part_goes_straight_into_its_kit_or_is_not_registered_at_all():
    full = complete_kit()
    empty = register_kit(full.kit_type)
    part = register_and_fit(empty, "charger", " C-1 ")
    assert (part.kit, part.place, part.serial) == (empty, "fitted", "C-1")
    assert [event.verb for event in empty.events.order_by("number")] == ["registered", "fitted"]
    assert events_after(lambda: register_and_fit(full, "charger", "C-2"), "no free place") == 0
    assert not Part.objects.filter(serial="C-2").exists()
