"""What is proposed for files that name no test: by time, else by name, against the tests led
through.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from readiness.intake.proposing import LEFT_OUT, UnnamedFile, fits, propose

PLAN = ("still", "flex", "lift")
BEGAN = datetime(2027, 3, 12, 10, 0, tzinfo=UTC)


def file(key: int, minutes: float | None, name: str = "", test: str = "") -> UnnamedFile:
    moment = None if minutes is None else BEGAN + timedelta(minutes=minutes)
    return UnnamedFile(key, name or f"take {key}.csv", test, moment)


def proposed(files, tests=PLAN, began=BEGAN):
    return {each.file.key: each.test for each in propose(files, tests, began)}


def test_files_are_proposed_in_the_order_of_their_times():
    files = [file(1, 3), file(2, 1), file(3, 2)]
    assert proposed(files) == {2: "still", 3: "flex", 1: "lift"}
    whys = [each.why for each in propose(files, PLAN, BEGAN)]
    assert whys == ["First by time.", "Second by time.", "Third by time."]


def test_without_all_times_the_names_give_the_order_with_figures_as_numbers():
    files = [file(1, None, "take 10.csv"), file(2, 5, "Take 9.csv"), file(3, None, "take 8.csv")]
    assert proposed(files) == {3: "still", 2: "flex", 1: "lift"}
    assert "by name" in propose(files, PLAN, BEGAN)[0].why
    odd = [file(1, None, "²³.csv"), file(2, None, "9" * 4000), file(3, None, "\u0663.csv")]
    assert sorted(proposed(odd).values()) == sorted(PLAN)


def test_a_test_that_a_file_names_is_given_to_no_other():
    assert proposed([file(1, 1), file(2, 2, test="still"), file(3, 3)]) == {
        1: "flex",
        2: "still",
        3: "lift",
    }


def test_only_tests_that_lack_are_proposed():
    assert proposed([file(1, 1)], ("lift",)) == {1: "lift"}


def test_too_many_files_leave_the_last_out_and_too_few_say_what_lacks():
    many = propose([file(n, n) for n in range(1, 5)], PLAN, BEGAN)
    assert [each.test for each in many] == [*PLAN, LEFT_OUT]
    assert "More files than tests" in many[3].why
    assert fits(many, PLAN).startswith("4 files for 3 tests: 1 is left out below.")
    few = propose([file(1, 1)], PLAN, BEGAN)
    assert fits(few, PLAN).startswith("No file for flex, lift yet.")
    assert fits(many[:3], PLAN) == ""


def test_a_file_from_before_the_round_is_left_out_unless_clocks_may_differ():
    files = [file(1, -30), file(2, -1), file(3, 1)]
    assert proposed(files) == {1: LEFT_OUT, 2: "still", 3: "flex"}
    assert "before this round" in propose(files, PLAN, BEGAN)[0].why
    early = propose([file(1, -30), file(2, -29)], PLAN, BEGAN)
    assert "2 are left out below. Give each its test" in fits(early, PLAN)
    assert proposed(files, began=None) == {1: "still", 2: "flex", 3: "lift"}
