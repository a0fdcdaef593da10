"""What is next with a kit, and its sentences."""

from __future__ import annotations

import dataclasses

import pytest

from rentals import next_acts
from rentals.lifecycle import ALLOWED, Verb
from rentals.next_acts import (
    KitSituation,
    kit_act,
    kit_sentence,
    not_to_pack,
    way_elsewhere,
)
from rentals.states import (
    KitState,
)

from .situations import kits


def test_a_kit_that_the_gate_stops_goes_to_the_bench_before_it_is_packed():
    for kit in kits():
        if kit.state is KitState.ASSIGNED:
            wanted = "Pack" if kit.may_go_out else "Bench"
            assert kit_act(kit).here.act == wanted


@pytest.mark.parametrize("state", [KitState.SHELF, KitState.BENCH])
def test_a_new_kit_without_parts_wants_them_before_the_bench(state):
    kit = KitSituation("K0014E", state, unfitted=True)
    assert (kit_act(kit).here.act, kit_act(kit).there.act) == ("Fit its parts", "Fit its parts")
    assert kit_act(dataclasses.replace(kit, state=KitState.ASSIGNED)).here.act == "Bench"


@pytest.mark.parametrize(
    ("act", "verb"),
    [
        ("Dispatch", Verb.DISPATCHED),
        ("Receive", Verb.ARRIVED),
        ("Check", Verb.CHECKED),
        ("Release", Verb.RELEASED),
        ("Pack", Verb.PACKED),
        ("Bench", Verb.CLEARED),
    ],
)
def test_the_life_table_allows_the_act_that_is_asked_for(act, verb):
    states = {kit.state for kit in kits() if (here := kit_act(kit).here) and here.act == act}
    assert states and states <= ALLOWED[verb]


def test_the_sentences_of_a_kit_say_why_there_is_nothing_to_pack():
    held = KitSituation("K0014E", KitState.HELD, hold_reason="wet charger")
    assert not_to_pack(held) == "Kit K0014E is held: wet charger"
    assert kit_sentence(held) == "Held: wet charger"
    at_bench = not_to_pack(KitSituation("K0014E", KitState.BENCH))
    assert at_bench == "Kit K0014E waits for the bench, is not cleared, and is assigned to nobody."
    on_shelf = not_to_pack(KitSituation("K0014E", KitState.SHELF))
    assert on_shelf == "Kit K0014E is on the shelf, is not cleared, and is assigned to nobody."
    for kit in kits():
        assert "K0014E" in not_to_pack(kit)
        assert not kit.student or kit.state is KitState.HELD or "Ann Lee" in kit_sentence(kit)


def test_clearance_is_said_where_it_matters():
    shown = {state for state in KitState if next_acts.shows_clearance(state)}
    assert set(KitState) - shown == {KitState.AWAY, KitState.CHECK, KitState.RETIRED}
    assert {state for state in KitState if next_acts.wants_clearance(state)} < shown
    refused = {state for state in KitState if next_acts.shows_refusal(state)}
    assert set(KitState) - refused == {KitState.AWAY, KitState.RETIRED}


def test_a_kit_that_is_not_at_the_packing_bench_is_sent_on_unless_it_waits_for_a_student():
    for kit in kits():
        way = way_elsewhere(kit)
        waits = kit.state is KitState.SHELF and kit.may_go_out
        assert (way is None) == waits
