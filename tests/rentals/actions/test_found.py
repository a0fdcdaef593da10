"""A foreign part in a parcel is a task until it is moved to its kit or kept aside."""

import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.found import keep_aside, move_found
from rentals.actions.pack import unpack
from rentals.actions.receive import arrive, finish_check, note_line
from rentals.actions.register import fit_part
from rentals.actions.return_scan import note_found, scan_return
from rentals.errors import Refused
from rentals.models import Event, FoundPart, Shortfall
from rentals.verify import verify
from tests.factories import complete_kit, packed_loan, spare
from tests.rentals.actions.acts import all_back, events_after

pytestmark = pytest.mark.django_db


def parcel_with(part, check=None) -> FoundPart:
    """A part scanned in the parcel of a kit that it was not sent with."""
    check = check or arrive(dispatch(packed_loan().kit).kit)
    scan_return(check, part.code)
    return FoundPart.objects.get(check_of=check, part=part)


def test_a_part_of_a_kit_in_the_house_is_put_back_and_that_kit_is_tested_again():
    home = complete_kit()
    thing = parcel_with(home.parts.get(kind="lead_set"))
    assert move_found(thing).state == "moved"
    home.refresh_from_db()
    assert (home.state, home.cleared) == ("bench", False)
    assert "was in another kit's parcel" in home.not_cleared_reason
    assert Event.objects.filter(kit=home, text__contains="put back, found in").exists()
    moved = Event.objects.get(kit=thing.check_of.loan.kit, text__contains="moved to kit")
    assert moved.loan == thing.check_of.loan
    assert events_after(lambda: move_found(thing), "put away already") == 0
    assert verify() == []


def test_a_missing_part_that_turns_up_fits_its_open_place_and_is_owed_no_more():
    loan = packed_loan()
    check = arrive(dispatch(loan.kit).kit)
    all_back(check)
    note_line(check.lines.get(packing_line__part_kind="charger"), "missing")
    finish_check(check)
    charger = Shortfall.objects.get().packing_line.part
    thing = parcel_with(charger)
    move_found(thing)
    charger.refresh_from_db()
    assert (charger.kit, charger.place) == (loan.kit, "fitted")
    assert Shortfall.objects.get().state == "recovered"
    assert verify() == []


def test_where_its_place_is_taken_it_is_kept_aside_as_a_spare():
    home = complete_kit(cleared=False)
    old = home.parts.get(kind="charger")
    thing = parcel_with(old)
    keep_aside(thing, " shelf  3 ")
    old.refresh_from_db()
    assert (old.kit, old.place) == (None, "spare")
    thing.refresh_from_db()
    assert (thing.state, thing.lies) == ("aside", "shelf 3")
    fit_part(home, spare("charger"))
    again = parcel_with(old)
    assert events_after(lambda: move_found(again), "no free place") == 0
    assert keep_aside(again, "shelf 4").state == "aside"


def test_a_packed_kit_is_unpacked_first_and_an_away_one_is_waited_for():
    packed = packed_loan()
    thing = parcel_with(packed.kit.parts.get(kind="charger"))
    for act in (lambda: move_found(thing), lambda: keep_aside(thing, "shelf 3")):
        assert events_after(act, "packed without it: unpack it first") == 0
    dispatch(packed.kit)
    assert events_after(lambda: move_found(thing), "away: keep it aside") == 0
    assert events_after(lambda: keep_aside(thing, "  "), "Say where it lies") == 0
    assert keep_aside(thing, "shelf 3").state == "waiting"
    check = arrive(packed.kit)
    all_back(check)
    finish_check(check)
    thing.refresh_from_db()
    assert (thing.state, thing.ended_at is None) == ("moved", False)
    assert verify() == []


def test_after_unpacking_it_goes_into_the_kit():
    packed = packed_loan()
    thing = parcel_with(packed.kit.parts.get(kind="charger"))
    unpack(packed.kit)
    assert move_found(thing).state == "moved"
    packed.kit.refresh_from_db()
    assert (packed.kit.state, packed.kit.cleared) == ("assigned", False)


def test_a_thing_nobody_knows_is_only_kept_aside():
    thing = note_found(arrive(dispatch(packed_loan().kit).kit), "a rosin cake")
    assert events_after(lambda: move_found(thing), "No kit is known") == 0
    assert keep_aside(thing, "the window sill").state == "aside"
    assert events_after(lambda: keep_aside(thing, "elsewhere"), "put away already") == 0


def test_a_part_found_again_is_one_task_in_the_newest_parcel():
    part = complete_kit().parts.get(kind="charger")
    first = parcel_with(part)
    again = parcel_with(part)
    assert parcel_with(part, again.check_of) == again
    first.refresh_from_db()
    assert (first.state, again.state) == ("aside", "open")
    assert "found again in the parcel" in first.lies


def test_a_part_never_in_a_kit_has_none_to_go_to():
    thing = parcel_with(spare("charger"))
    with pytest.raises(Refused, match="No kit is known"):
        move_found(thing)
