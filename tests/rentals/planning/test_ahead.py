"""Which earlier run lacks the cleared kits that a later one takes."""

from datetime import date

from rentals.planning.ahead import LeftShort, RunAhead, left_short

EARLY = RunAhead("early", date(2027, 3, 1), 3)
NEXT = RunAhead("next", date(2027, 3, 8), 2)


def test_the_first_run_that_lacks_kits_is_named_with_what_is_left_for_it() -> None:
    assert left_short(4, 9, [NEXT, EARLY]) is None
    assert left_short(5, 9, [NEXT, EARLY]) == LeftShort(NEXT, 1)
    assert left_short(7, 9, [NEXT, EARLY]) == LeftShort(EARLY, 2)
    assert left_short(9, 9, [NEXT, EARLY]) == LeftShort(EARLY, 0)


def test_who_takes_no_cleared_kit_takes_from_nobody() -> None:
    assert left_short(0, 0, [EARLY]) is None
