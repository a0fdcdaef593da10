"""The life table under every sequence of acts."""

from functools import reduce

from hypothesis import given
from hypothesis import strategies as st

from rentals.lifecycle import ALLOWED, NotAllowed, Standing, Verb, follow, may
from rentals.states import KitState


@given(st.lists(st.sampled_from(list(Verb)), max_size=60))
def test_no_sequence_of_acts_issues_a_kit_that_is_neither_cleared_nor_overridden(verbs):
    standing = follow(Standing(), Verb.REGISTERED)
    for verb in verbs:
        try:
            standing = follow(standing, verb)
        except NotAllowed:
            continue
        issued = standing.state in (KitState.PACKED, KitState.AWAY)
        assert not issued or standing.cleared or standing.overridden
        assert not (standing.state is KitState.CHECK and standing.cleared)
        assert (standing.state is KitState.HELD) == (standing.held_from is not None)


@given(st.sampled_from(list(ALLOWED)), st.sampled_from(list(KitState)))
def test_an_act_outside_the_table_is_refused(verb, state):
    if may(verb, state):
        return
    standing = Standing(
        state=state, cleared=True, held_from=KitState.SHELF if state is KitState.HELD else None
    )
    try:
        follow(standing, verb)
    except NotAllowed as refusal:
        assert "cannot be" in str(refusal)
    else:
        raise AssertionError(f"{verb} was allowed in {state}")


def test_a_return_takes_clearance_and_override_away():
    out = [Verb.REGISTERED, Verb.CLEARED, Verb.ASSIGNED, Verb.PACKED, Verb.DISPATCHED]
    assert reduce(follow, out, Standing()) == Standing(state=KitState.AWAY, cleared=True)
    assert reduce(follow, [*out, Verb.ARRIVED], Standing()) == Standing(state=KitState.CHECK)
