"""Every state of the bench has a mark."""

import pytest

from readiness.marks import FAMILIES, bench_mark, finding_mark, verdict_mark
from readiness.signal.bench_tests.findings import NOTE
from readiness.signal.statistics.decision import FIT, NOT_FIT, RETEST
from readiness.states import BenchDayState, CaptureStatus, VerdictWord
from rentals.marks import SHAPES

VERDICTS = (FIT, RETEST, NOT_FIT)
MEMBERS = [member for family in FAMILIES for member in family]


def test_every_class_of_states_has_a_family_and_every_member_a_look():
    assert set(FAMILIES) == {VerdictWord, CaptureStatus, BenchDayState}
    for family, looks in FAMILIES.items():
        assert [(type(key), key) for key in looks] == [(family, key) for key in family]


@pytest.mark.parametrize("member", MEMBERS, ids=lambda member: f"{type(member).__name__}.{member}")
def test_a_mark_says_the_words_of_its_state(member):
    mark = bench_mark(member)
    assert mark.word == member.label and mark.shape in SHAPES


def test_the_words_of_a_verdict_are_those_of_the_measurement():
    assert tuple(VerdictWord.values) == VERDICTS
    assert [finding_mark(word).word for word in (*VERDICTS, NOTE)] == [*VERDICTS, "note"]


def test_a_round_without_a_verdict_is_not_judged():
    assert verdict_mark("").word == "not judged"
    assert verdict_mark("", "to record").word == "to record"
    assert verdict_mark("not fit").tone == "wrong"
