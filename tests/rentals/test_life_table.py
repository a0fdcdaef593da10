"""The life table, written out a second time by hand: every act in every state."""

import pytest

from rentals import lifecycle
from rentals.lifecycle import NotAllowed, Standing, Verb, follow, may

KitState = lifecycle.KitState
STATES = ("shelf", "assigned", "packed", "away", "check", "bench", "held", "retired")
# For each act the state it leaves, column by column as above; "-" where it is refused. The kit is
# cleared, and a kit that is held came from the shelf.
TABLE = """
registered  -        -        -        -       -     -        -       -
assigned    assigned -        -        -       -     assigned -       -
unassigned  -        shelf    -        -       -     -        -       -
overridden  -        assigned -        -       -     -        -       -
packed      -        packed   -        -       -     -        -       -
unpacked    -        -        assigned -       -     -        -       -
dispatched  -        -        away     -       -     -        -       -
recalled    -        -        -        packed  -     -        -       -
arrived     -        -        -        check   -     -        -       -
part_came   -        -        -        -       away  -        -       -
checked     -        -        -        -       bench -        -       -
cleared     shelf    assigned -        -       -     shelf    -       -
uncleared   bench    assigned -        -       -     bench    held    -
fitted      shelf    assigned -        -       check bench    held    -
removed     shelf    assigned -        -       check bench    held    -
held        held     held     -        -       held  held     -       -
released    -        -        -        -       -     -        shelf   -
lost        -        -        -        retired -     -        -       -
retired     retired  -        -        -       -     retired  retired -
set_aside   shelf    assigned packed   away    check bench    held    retired
let_go      shelf    assigned packed   away    check bench    held    retired
noted       shelf    assigned packed   away    check bench    held    retired
shortfall   shelf    assigned packed   away    check bench    held    retired
settled     shelf    assigned packed   away    check bench    held    retired
stock       shelf    assigned packed   away    check bench    held    retired
erased      shelf    assigned packed   away    check bench    held    retired
"""
ROWS = {row.split()[0]: row.split()[1:] for row in TABLE.strip().splitlines()}
CELLS = [
    (verb, state, left)
    for verb, row in ROWS.items()
    for state, left in zip(STATES, row, strict=True)
]


def _standing(state: str, **facts: object) -> Standing:
    held_from = KitState("shelf") if state == "held" else None
    return Standing(**{"state": KitState(state), "held_from": held_from} | facts)


def test_the_table_names_every_act_and_every_state():
    assert set(ROWS) == {verb.value for verb in Verb}
    assert set(STATES) == {state.value for state in KitState}


@pytest.mark.parametrize(("verb", "state", "left"), CELLS)
def test_every_act_in_every_state(verb, state, left):
    standing = _standing(state, cleared=True)
    if left == "-":
        with pytest.raises(NotAllowed):
            follow(standing, Verb(verb))
        return
    assert may(Verb(verb), KitState(state))
    assert follow(standing, Verb(verb)).state == left


def test_a_kit_begins_at_the_bench_cleared_by_nobody():
    assert Standing() == Standing(None, False, False, None)
    assert follow(Standing(), Verb("registered")) == Standing(KitState("bench"))


@pytest.mark.parametrize("verb", [verb for verb in Verb if verb != "registered"])
def test_nothing_happens_to_a_kit_before_it_is_registered(verb):
    with pytest.raises(NotAllowed, match="first event of a kit is its registration"):
        follow(Standing(), verb)


def test_a_kit_is_registered_once():
    with pytest.raises(NotAllowed, match="registered once"):
        follow(_standing("bench"), Verb("registered"))


@pytest.mark.parametrize(
    ("state", "words"),
    [
        ("shelf", "on the shelf"),
        ("assigned", "assigned"),
        ("packed", "packed"),
        ("away", "away"),
        ("check", "back, to check"),
        ("bench", "to bench"),
        ("held", "held"),
        ("retired", "retired"),
    ],
)
def test_a_refusal_says_the_state_in_words(state, words):
    verb = Verb("recalled") if state != "away" else Verb("packed")
    with pytest.raises(NotAllowed, match=f"a kit that is {words} cannot be {verb.value}"):
        follow(_standing(state), verb)


@pytest.mark.parametrize(("cleared", "overridden"), [(True, False), (False, True), (True, True)])
def test_a_kit_is_packed_when_cleared_or_overridden(cleared, overridden):
    standing = _standing("assigned", cleared=cleared, overridden=overridden)
    packed = follow(standing, Verb("packed"))
    assert packed == Standing(KitState("packed"), cleared, overridden)


def test_a_kit_neither_cleared_nor_overridden_is_not_packed():
    with pytest.raises(NotAllowed, match="neither cleared nor overridden"):
        follow(_standing("assigned"), Verb("packed"))


@pytest.mark.parametrize(("cleared", "home"), [(True, "shelf"), (False, "bench")])
def test_a_kit_taken_off_a_loan_goes_home_without_its_override(cleared, home):
    standing = _standing("assigned", cleared=cleared, overridden=True)
    assert follow(standing, Verb("unassigned")) == Standing(KitState(home), cleared)


@pytest.mark.parametrize("state", ["shelf", "bench", "assigned"])
def test_clearing_takes_the_place_of_an_override(state):
    cleared = follow(_standing(state, overridden=True), Verb("cleared"))
    assert (cleared.cleared, cleared.overridden) == (True, False)


def test_an_override_is_added_to_what_stands():
    overridden = follow(_standing("assigned"), Verb("overridden"))
    assert overridden == Standing(KitState("assigned"), overridden=True)


@pytest.mark.parametrize("state", ["shelf", "bench", "assigned"])
def test_a_clearance_taken_away_leaves_the_override(state):
    uncleared = follow(_standing(state, cleared=True, overridden=True), Verb("uncleared"))
    assert (uncleared.cleared, uncleared.overridden) == (False, True)


@pytest.mark.parametrize(
    ("held_from", "back"), [("shelf", "bench"), ("bench", "bench"), ("assigned", "assigned")]
)
def test_a_held_kit_that_loses_its_clearance_does_not_return_to_the_shelf(held_from, back):
    standing = _standing("held", cleared=True, held_from=KitState(held_from))
    uncleared = follow(standing, Verb("uncleared"))
    assert uncleared == Standing(KitState("held"), held_from=KitState(back))
    assert follow(uncleared, Verb("released")) == Standing(KitState(back))


@pytest.mark.parametrize("state", ["shelf", "assigned", "check", "bench"])
def test_a_hold_returns_the_kit_to_where_it_was(state):
    standing = _standing(state, cleared=True)
    held = follow(standing, Verb("held"))
    assert held == Standing(KitState("held"), cleared=True, held_from=KitState(state))
    assert follow(held, Verb("released")) == standing


def test_a_hold_of_unknown_origin_ends_at_the_bench():
    released = follow(_standing("held", held_from=None), Verb("released"))
    assert released.state == "bench"


@pytest.mark.parametrize(("verb", "state"), [("lost", "away"), ("retired", "held")])
def test_a_kit_that_is_gone_is_cleared_no_more(verb, state):
    gone = follow(_standing(state, cleared=True), Verb(verb))
    assert gone == Standing(KitState("retired"))


@pytest.mark.parametrize("verb", ["assigned", "dispatched", "unpacked", "recalled", "checked"])
def test_a_move_keeps_clearance_and_override(verb):
    state = STATES[next(place for place, left in enumerate(ROWS[verb]) if left != "-")]
    standing = _standing(state, cleared=True, overridden=True)
    moved = follow(standing, Verb(verb))
    assert (moved.cleared, moved.overridden, moved.held_from) == (True, True, None)


def test_a_return_takes_all_away():
    standing = _standing("away", cleared=True, overridden=True)
    assert follow(standing, Verb("arrived")) == Standing(KitState("check"))


@pytest.mark.parametrize(
    "verb", ["fitted", "removed", "noted", "shortfall", "settled", "stock", "erased"]
)
def test_what_moves_no_kit_changes_nothing(verb):
    standing = _standing("check", cleared=True, overridden=True)
    assert follow(standing, Verb(verb)) == standing
