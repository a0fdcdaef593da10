"""Which clue speaks for a kit and a test, and what is asked where clues disagree."""

import pytest

from readiness.intake.owners import (
    Clues,
    Question,
    asked_together,
    kit_code_of,
    no_such_kit,
)
from readiness.intake.owners import test_of as which_test
from rentals.codes import make_code

A, B = make_code("K", 14), make_code("K", 15)


@pytest.mark.parametrize(
    ("clues", "code"),
    [
        (Clues(f"{A} still.csv"), A),
        (Clues("x.csv", header_kit=A), A),
        (Clues(f"{A}.csv", header_kit=A.lower()), A),
        (Clues("x.csv", declared={"page_kit": A}), A),
        (Clues(f"{A}.csv", declared={"page_kit": B}), A),
        (Clues(f"{A}.csv", header_kit=B, declared={"kit": B}), B),
        (Clues("x.csv", header_kit="K00", declared={"kit": A}), A),
    ],
)
def test_the_kit_by_answer_header_name_and_page(clues, code):
    assert kit_code_of(clues) == code


@pytest.mark.parametrize(
    ("clues", "words"),
    [
        (Clues(f"{A}.csv", header_kit=B), "Which is it?"),
        (Clues("x.csv", header_kit="K00"), "cannot be right"),
        (Clues("x.csv"), "Neither the file nor its name"),
        (Clues("K0014.csv", declared={"page_kit": A}), "check character lacks"),
    ],
)
def test_a_kit_that_is_in_doubt_is_asked(clues, words):
    question = kit_code_of(clues)
    assert isinstance(question, Question)
    assert question.missing == "kit"
    assert words in question.sentence


@pytest.mark.parametrize(
    ("clues", "test"),
    [
        (Clues("flex.csv"), "flex"),
        (Clues("x.csv", header_test="lift"), "lift"),
        (Clues("flex.csv", header_test="lift", declared={"test": "still"}), "still"),
    ],
)
def test_the_test_by_answer_header_and_name(clues, test):
    assert which_test(clues) == test


@pytest.mark.parametrize(
    ("clues", "words"),
    [
        (Clues("flex.csv", header_test="lift"), "Which is it?"),
        (Clues("flex still.csv"), "still and flex"),
        (Clues("x.csv"), "Neither the file nor its name"),
    ],
)
def test_a_test_that_is_in_doubt_is_asked(clues, words):
    question = which_test(clues)
    assert isinstance(question, Question)
    assert question.missing == "test"
    assert words in question.sentence


def test_two_questions_are_asked_together():
    together = asked_together([no_such_kit(A), Question("test", "Which test?")])
    assert together.missing == "kit test"
    assert together.sentence.endswith("Which kit is it? Which test?")
