"""A plan and its mends in words."""

from datetime import date

import pytest

from rentals.planning.assigning import assign_kits
from rentals.planning.assigning_facts import Agreed, KitAhead
from rentals.planning.assigning_words import lacking_words, level_words, mend_words, proof_words
from rentals.planning.shortage import LackingKits, Mend, MendWay
from tests.rentals.planning.brute_force import day, need

pytestmark = pytest.mark.any_database


def test_every_level_is_said() -> None:
    kits = [
        KitAhead("K1", 1, day(12), 4, 1, comes_back=True),
        KitAhead("K2", 1, day(0)),
    ]
    needs = [need(1, 10, 40, window=5), need(2, 10, 40), need(3, 12, 40)]
    plan = assign_kits(kits, needs, [Agreed(1, "K2")])
    assert level_words(plan, kits) == [
        "1 student has no kit.",
        "No kit is handed over late.",
        "Returns may be 0 days late before a hand-over is; 1 hand-over has fewer than 14.",
        "1 kit has still to pass the bench or be made whole.",
        "These kits will have been lent 1 to 5 times.",
        "Nothing changes of what was agreed and can be kept.",
    ]
    assert proof_words(plan).startswith("This is the best plan there is.")


def test_an_empty_plan_is_said_too() -> None:
    words = level_words(assign_kits([], []), [])
    assert words == [] or words[0] == "Everybody has a kit."


def test_what_lacks_and_what_mends_it_is_said_with_days_and_names() -> None:
    lacks = LackingKits(1, day(0), day(5), 2)
    assert lacking_words(lacks, "Two-lead kit").startswith("2 kits of the type Two-lead kit lack")
    assert lacking_words(LackingKits(1, day(0), date.max, 1), "Two-lead kit").endswith(" on.")
    chase = Mend(MendWay.CHASE, day(3), 2, 1, 0, code="K1")
    assert "Get kit K1 back from Ada 2 days sooner" in mend_words(chase, {"K1": "Ada"}, {})
    assert mend_words(chase, {}, {}).endswith(": 1 more student has a kit.")
    shift = Mend(MendWay.SHIFT, day(3), 1, 0, 2, who=7)
    assert mend_words(shift, {}, {7: "Ben"}).startswith("Shift Ben by 1 day, to be posted on")
    bench = Mend(MendWay.BENCH_FIRST, day(3), 1, 0, 2, code="K1")
    assert mend_words(bench, {}, {}).endswith(": 2 more kits are in time.")
