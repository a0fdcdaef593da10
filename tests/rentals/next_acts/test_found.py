"""What is next with a found thing, under every state of it and of its kit."""

from __future__ import annotations

from itertools import product

import pytest

from rentals.next_acts import KEEP_ASIDE, MOVE_TO_KIT, FoundSituation, found_act, found_sentence
from rentals.states import FoundState, KitState

#: What is next for each state of its kit; "-" where nothing is until that is back.
TABLE = """
shelf    move   move
assigned move   move
packed   unpack unpack
away     aside  -
check    move   move
bench    move   move
held     move   move
retired  aside  aside
none     aside  aside
"""
ROWS = [row.split() for row in TABLE.strip().splitlines()]
ACTS = {"move": MOVE_TO_KIT.act, "aside": KEEP_ASIDE.act, "unpack": "Unpack the kit", "-": None}


@pytest.mark.parametrize(("home", "first", "waiting"), ROWS)
def test_a_task_leads_to_its_kit_where_that_can_take_it_and_else_aside(home, first, waiting):
    kit = {} if home == "none" else {"kit": "K0001A", "kit_state": KitState(home)}
    for state, act in ((FoundState.OPEN, first), (FoundState.WAITING, waiting)):
        here = found_act(FoundSituation(state, **kit)).here
        assert (here.act if here else None) == ACTS[act]


def test_the_table_names_every_state_of_a_kit():
    assert {row[0] for row in ROWS} == set(KitState) | {"none"}


def test_every_situation_has_an_act_or_a_sentence_and_what_has_ended_has_no_act():
    for state, kit_state in product(FoundState, (None, *KitState)):
        find = FoundSituation(state, "K0001A", kit_state, lies="shelf 3")
        answer = found_act(find)
        assert (answer.here is None) == bool(answer.reason)
        assert found_sentence(find)
        if state in (FoundState.MOVED, FoundState.ASIDE):
            assert answer.here is None


def test_the_sentence_says_where_it_lies_and_what_keeps_it_from_its_kit():
    away = FoundSituation(FoundState.WAITING, "K0001A", KitState.AWAY, lies="shelf 3")
    assert "away: keep it aside until that is back. Lies: shelf 3." in found_sentence(away)
    packed = FoundSituation(FoundState.OPEN, "K0001A", KitState.PACKED)
    assert "packed without it: unpack that first" in found_sentence(packed)
