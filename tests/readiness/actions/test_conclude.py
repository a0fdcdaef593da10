"""From captures to the kit: cleared on all required tests of its present round, refused in the
finding's words.
"""

from datetime import timedelta

import pytest
from django.utils import timezone

from readiness.actions.answer import note_battery, set_aside
from readiness.actions.conclude import conclude, conclude_again
from readiness.actions.upload import store_upload
from readiness.judgement.rounds import not_counted
from readiness.models import BenchTest
from readiness.selectors.rounds import round_since
from rentals.actions.assign import assign
from rentals.actions.dispatch import dispatch
from rentals.actions.pack import pack
from rentals.actions.packing_list import draw_up
from rentals.actions.receive import arrive
from rentals.actions.register import mark_damaged, swap_part
from rentals.errors import Refused
from rentals.models import Event, Part
from tests.factories import EnrolmentFactory, complete_kit, packed_loan, spare
from tests.readiness.captures import INTERMITTENT_B, capture_bytes, capture_file, kit_files

pytestmark = pytest.mark.django_db


@pytest.fixture
def kit():
    return complete_kit(cleared=False)


def bench(kit, **facts):
    upload = store_upload(kit_files(kit.code, **facts))
    kit.refresh_from_db()
    return upload


def one(kit, test, **facts):
    return store_upload(
        [capture_file(f"{test}.csv", capture_bytes(test, kit=kit.code, **facts))]
    ).captures.get()


def test_three_fit_tests_clear_the_kit(kit):
    bench(kit)
    assert (kit.state, kit.cleared) == ("shelf", True)
    found = kit.bench_tests.get()
    assert (found.current, found.verdict, found.proven) == (True, "fit", ["A", "B", "ground"])
    assert (found.continuity, found.noise, found.battery) == (100, 100, 100)
    assert found.cleared_at
    assert set(found.captures.all()) == set(kit.captures.all())
    event = Event.objects.filter(kit=kit, verb="cleared").get()
    assert "bench tests still, flex, lift passed" in event.text
    assert "lead A, lead B, ground" in event.text
    assert (kit.score_continuity, kit.score_noise, kit.score_battery) == (100, 100, 100)


def test_the_clearance_is_recorded_under_the_name_of_whoever_dropped_the_files(kit, owner):
    store_upload(kit_files(kit.code), actor=owner)
    assert Event.objects.get(kit=kit, verb="cleared").actor == owner


def test_two_of_three_tests_clear_nothing(kit):
    one(kit, "still")
    one(kit, "flex")
    kit.refresh_from_db()
    assert not kit.cleared
    found = kit.bench_tests.get()
    assert (found.verdict, found.lacking) == ("", ["lift"])
    assert found.sentence == "Still to be tested: lift."


def test_an_intermittent_lead_refuses_packing_with_just_that(kit):
    bench(kit, faults=INTERMITTENT_B)
    assert not kit.cleared
    assert kit.not_cleared_reason.startswith("Intermittent lead B (flex): replace lead B.")
    loan = assign(kit, EnrolmentFactory(run__kit_type=kit.kit_type))
    draw_up(kit)
    with pytest.raises(Refused, match=r"Intermittent lead B \(flex\): replace lead B"):
        pack(loan.kit)


def test_a_fault_in_one_test_refuses_at_once_without_waiting_for_the_others(kit):
    one(kit, "flex", faults=INTERMITTENT_B)
    kit.refresh_from_db()
    assert kit.bench_tests.get().verdict == "not fit"
    assert "Intermittent lead B" in kit.not_cleared_reason


def test_an_intermittent_lead_is_not_undone_by_a_second_try(kit):
    bench(kit, faults=INTERMITTENT_B)
    one(kit, "flex", seed=7)
    kit.refresh_from_db()
    assert not kit.cleared
    assert "earlier capture of this round" in kit.bench_tests.get().findings[0]["text"]


def test_a_swap_of_the_lead_set_begins_a_new_round_and_a_retest_clears(kit):
    bench(kit, faults=INTERMITTENT_B)
    first = kit.bench_tests.get()
    swap_part(kit, kit.parts.get(kind="lead_set"), spare("lead_set"), to=Part.Place.REPAIR)
    assert conclude(kit) is None
    first.refresh_from_db()
    assert not first.current
    bench(kit, seed=9)
    assert kit.cleared
    assert kit.bench_tests.get(current=True).pk != first.pk


def test_captures_taken_before_the_swap_do_not_count_after_it(kit):
    taken = timezone.now() - timedelta(hours=1)
    since = round_since(kit)
    bench(kit, taken=taken)
    assert not kit.cleared
    capture = kit.captures.first()
    assert (
        not_counted(capture, kit, since) == "Taken before the last part was fitted: does not count."
    )


def test_every_return_begins_a_new_round(kit):
    bench(kit)
    packed_loan(kit)
    dispatch(kit)
    arrive(kit)
    kit.refresh_from_db()
    assert not kit.cleared
    assert conclude(kit) is None
    assert not kit.bench_tests.filter(current=True).exists()
    assert round_since(kit).words == "its last return"


def test_captures_for_a_kit_that_is_away_are_kept_and_do_not_count(kit):
    bench(kit)
    packed_loan(kit)
    dispatch(kit)
    kit.refresh_from_db()
    capture = one(kit, "flex", seed=4, faults=INTERMITTENT_B)
    kit.refresh_from_db()
    assert capture.status == "scored"
    assert kit.state == "away"
    assert "away" in not_counted(capture, kit, round_since(kit))
    assert kit.bench_tests.get(current=True).verdict == "fit"


def test_a_fault_found_later_takes_the_clearance_back(kit):
    bench(kit)
    one(kit, "flex", seed=4, faults=INTERMITTENT_B)
    kit.refresh_from_db()
    assert (kit.cleared, kit.state) == (False, "bench")


def test_a_fit_kit_with_a_damaged_part_is_not_cleared_and_says_so(kit):
    charger = kit.parts.get(kind="charger")
    mark_damaged(charger, "cracked")
    bench(kit)
    found = kit.bench_tests.get()
    assert (found.verdict, kit.cleared, found.cleared_at) == ("fit", False, None)
    assert f"Charger {charger.code} is damaged (cracked): swap it." in found.not_cleared_because
    with pytest.raises(Refused, match="is damaged"):
        conclude_again(kit)


def test_once_mended_the_kit_is_cleared_on_request(kit):
    charger = kit.parts.get(kind="charger")
    mark_damaged(charger, "cracked")
    bench(kit)
    Part.objects.filter(pk=charger.pk).update(damaged=False)
    conclude_again(kit)
    kit.refresh_from_db()
    assert kit.cleared
    assert kit.bench_tests.get().not_cleared_because == ""


def test_judging_twice_changes_nothing(kit):
    bench(kit)
    events, rounds = kit.events.count(), BenchTest.objects.count()
    conclude(kit)
    conclude(kit)
    assert (kit.events.count(), BenchTest.objects.count()) == (events, rounds)


def test_a_capture_without_battery_is_asked_for_a_reading_and_judged_with_it(kit):
    bench(kit, battery_v=None)
    assert not kit.cleared
    assert kit.bench_tests.get().verdict == "retest"
    assert "No battery reading" in kit.not_cleared_reason
    assert note_battery(kit, 2.7) == 3
    kit.refresh_from_db()
    assert kit.cleared
    with pytest.raises(Refused, match="lacks a battery reading"):
        note_battery(kit, 2.7)


def test_a_flat_pack_is_not_fit_with_the_pack_named(kit):
    bench(kit, battery_v=2.0)
    assert not kit.cleared
    assert kit.not_cleared_reason.startswith("Battery low (")
    assert "charge or replace the pack" in kit.not_cleared_reason


def test_a_capture_set_aside_no_longer_stands_against_the_kit(kit, owner):
    bench(kit)
    bad = one(kit, "flex", seed=4, faults=INTERMITTENT_B)
    with pytest.raises(Refused):
        set_aside(bad, "no", actor=owner)
    set_aside(bad, "The bar slipped out of my hand twice.", actor=owner)
    kit.refresh_from_db()
    assert kit.cleared
    assert "set aside: The bar slipped" in kit.events.filter(verb="noted").latest("number").text


def test_setting_aside_what_cleared_the_kit_takes_the_clearance_back(kit, owner):
    upload = bench(kit)
    set_aside(upload.captures.get(test="lift"), "That was another kit's lead set.", actor=owner)
    kit.refresh_from_db()
    assert not kit.cleared
    assert "These tests are missing: lift." in kit.not_cleared_reason
    for capture in upload.captures.exclude(test="lift"):
        set_aside(capture, "That was another kit's lead set.", actor=owner)
    assert not kit.bench_tests.filter(current=True).exists()


def test_nothing_to_judge_is_said(kit):
    with pytest.raises(Refused, match="no capture that counts"):
        conclude_again(kit)
    one(kit, "still")
    with pytest.raises(Refused, match="still missing: flex, lift"):
        conclude_again(kit)


def test_a_check_still_open_is_said_and_the_kit_can_be_cleared_after_it(kit):
    bench(kit)
    packed_loan(kit)
    dispatch(kit)
    arrive(kit)
    bench(kit, seed=6)
    assert (kit.state, kit.cleared) == ("check", False)
    assert "back, to check" in kit.bench_tests.get(current=True).not_cleared_because
