"""Which page a kit gets at the benches."""

from __future__ import annotations

from rentals.lifecycle import Verb, may
from rentals.next_acts import PackingPage, ReceivingPage, packing_page, receiving_page
from rentals.states import KitState


def test_a_kit_gets_the_page_of_the_act_that_the_life_table_allows_on_it():
    for state in KitState:
        packing = {
            PackingPage.TO_PACK: Verb.PACKED,
            PackingPage.PACKED: Verb.DISPATCHED,
            PackingPage.AWAY: Verb.RECALLED,
        }
        allowed = [page for page, verb in packing.items() if may(verb, state)]
        assert [packing_page(state)] == (allowed or [PackingPage.ELSEWHERE])
        receiving = {ReceivingPage.AWAY: Verb.ARRIVED, ReceivingPage.CHECK: Verb.CHECKED}
        allowed = [page for page, verb in receiving.items() if may(verb, state)]
        assert [receiving_page(state)] == (allowed or [ReceivingPage.ELSEWHERE])
