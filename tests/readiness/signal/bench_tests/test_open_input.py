"""Which lead is named open, and when none is."""

from __future__ import annotations

import pytest

from readiness.signal.bench_tests.open_input import lives_unnamed, named_open_lead, pinned_lead
from readiness.signal.leads.reaction import Reaction
from readiness.signal.leads.turns import NONE, Turns

pytestmark = pytest.mark.any_database


def reaction(lead: str, ratio: float = 1.0, abrupt: float = 3.0, sure: float = 1.0) -> Reaction:
    return Reaction(lead, ratio, ratio, ratio, 1.0, sure, 0.0, abrupt)


def named(a: Reaction, b: Reaction, turns: Turns = NONE, *, is_open: bool = False) -> str | None:
    found = named_open_lead({"A": a, "B": b}, turns, is_open=is_open)
    return found and found.lead


def test_phase_names_the_open_lead_and_edges_alone_do_not() -> None:
    over = Turns(frozenset("A"), frozenset("B"))
    assert named(reaction("A", abrupt=90), reaction("B", abrupt=30), over, is_open=True) == "A"
    # Strong hum alone has some phase, too: there a contact that parts speaks for the lead.
    assert named(reaction("A", abrupt=90), reaction("B", abrupt=30), over) is None
    assert named(reaction("A", abrupt=4), reaction("B", abrupt=30), over) == "A"
    assert named(reaction("A", abrupt=3), reaction("B", abrupt=90)) is None


def test_a_lead_with_a_contact_that_parted_is_not_named_by_levels() -> None:
    """A sound lead's stage at its stop may be no louder than the room."""
    moved, quiet = reaction("A", 18, 1500), reaction("B", 1.6, 1700)
    assert named(moved, quiet) is None
    assert named(moved, quiet, is_open=True) == "B"


def test_edges_of_a_finger_name_nothing_where_one_is_open_for_sure() -> None:
    over = Turns(frozenset("A"), frozenset(), {"A": 0.0, "B": 0.0})
    calm = {"A": reaction("A", 7, 4), "B": reaction("B", 7, 90)}
    assert named_open_lead(calm, over, is_open=True, for_sure=True) is not None
    pair = {"A": reaction("A", 7, 25), "B": reaction("B", 7, 90)}
    assert named_open_lead(pair, over, is_open=True, for_sure=True) is None
    grown = Turns(frozenset("AB"), frozenset(), {"A": -0.1, "B": 0.5})
    found = named_open_lead(pair, grown, is_open=True, for_sure=True)
    assert found
    assert found.lead == "B"


def test_levels_name_it_where_hum_has_no_phase_to_speak_of() -> None:
    assert named(reaction("A", 40, 50), reaction("B", 1.1, 3)) == "B"
    assert named(reaction("A", 40, 50), reaction("B", 30, 50)) is None
    # Hum that only grew in the lead that should have changed it says nothing.
    both = Turns(frozenset("AB"), frozenset())
    assert named(reaction("A", 7, 8), reaction("B", 1.1, 7), both) is None


def test_what_is_said_of_a_silent_input_depends_on_what_answers() -> None:
    assert (pinned_lead("B", "A").lead, pinned_lead("B", "A").verdict) == ("B", "not fit")
    assert (lives_unnamed("`lift`").lead, lives_unnamed("`lift`").verdict) == (None, "retest")
