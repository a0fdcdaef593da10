"""Kit and test from a file's name: found where they stand whole, told and not guessed where they do
not.
"""

import pytest

from readiness.intake.matching import read_name
from rentals.codes import make_code

CODE = make_code("K", 14)
OTHER = make_code("K", 15)


@pytest.mark.parametrize(
    "name",
    [
        f"{CODE}-flex.csv",
        f"{CODE.lower()}_FLEX.TXT",
        f"2026-11-25 {CODE} flex.edf",
        f"flex {CODE[0]} {CODE[1:5]} {CODE[5]} run 2.csv",
        f"{CODE[0]}-{CODE[1:5]}-{CODE[5]}.flex.csv",
        f"{CODE} flex",
        f"{CODE}_{CODE} flex.csv",
    ],
)
def test_code_and_test_word_are_found_anywhere_in_the_name(name):
    named = read_name(name)
    assert (named.kit, named.test, named.kit_doubt, named.test_doubt) == (CODE, "flex", "", "")


@pytest.mark.parametrize("word", ["still", "flex", "lift", "ground", "worn"])
def test_every_test_has_its_word(word):
    assert read_name(f"{CODE} {word}.csv").test == word


@pytest.mark.parametrize(
    "name", [f"{CODE} flexible.csv", f"{CODE} lifted.csv", f"{CODE} stillness.csv", "a.flex"]
)
def test_a_longer_word_or_the_ending_is_no_test_word(name):
    assert read_name(name).test is None


def test_a_wrong_check_character_is_told_and_not_taken():
    wrong = CODE[:-1] + ("A" if CODE[-1] != "A" else "B")
    named = read_name(f"{wrong} still.csv")
    assert named.kit is None
    assert "does not hold together" in named.kit_doubt
    assert named.test == "still"


def test_a_code_without_its_check_character_is_told():
    named = read_name("K0014 still.csv")
    assert named.kit is None
    assert "K0014" in named.kit_doubt
    assert "check character" in named.kit_doubt


def test_two_codes_are_told_and_not_chosen_between():
    named = read_name(f"{CODE} {OTHER} still.csv")
    assert named.kit is None
    assert "Which kit" in named.kit_doubt


def test_two_test_words_are_told_and_not_chosen_between():
    named = read_name(f"{CODE} flex lift.csv")
    assert named.test is None
    assert "flex and lift" in named.test_doubt


@pytest.mark.parametrize("name", ["capture 3.csv", "Kirsten 2026.csv", "", ".csv", "kit.csv"])
def test_a_name_without_a_code_says_nothing(name):
    assert read_name(name).kit is None
    assert read_name(name).kit_doubt == ""


def test_codes_of_parts_are_no_kits():
    assert read_name(f"{make_code('P', 14)} still.csv").kit is None
