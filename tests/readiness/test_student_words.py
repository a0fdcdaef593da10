"""What a capture says, in the words of a student."""

import pytest

from readiness.signal.bench_tests.findings import FINDING_KINDS
from readiness.signal.readers.column_map import SAID_BY_A_MAP
from readiness.student_words import REFUSALS, SENTENCES, refused_words, result_words

pytestmark = pytest.mark.any_database
TECHNICAL = ("Hz", "uV", "µV", "RMS", "retest", "not fit", "channel", "noise floor", "impedance")


def words_of(*findings: tuple[str, str]):
    return result_words({"findings": [{"code": code, "verdict": said} for code, said in findings]})


def test_every_finding_has_its_words_and_none_is_technical():
    assert set(SENTENCES) == set(FINDING_KINDS)
    for sentence in (*filter(None, SENTENCES.values()), *REFUSALS.values()):
        assert not [word for word in TECHNICAL if word in str(sentence)]


def test_the_heading_is_of_the_worst_and_each_sentence_comes_once():
    worst = words_of(("lead_unproven", "retest"), ("stuck_bits", "not fit"), ("clipped", "not fit"))
    assert worst.heading == "Something in the kit seems to be at fault."
    assert len(worst.sentences) == 2 and worst.limits
    open_ended = words_of(("bench_interference", "retest"))
    assert open_ended.heading == "This recording does not settle it yet."


def test_notes_and_a_missing_battery_reading_say_nothing():
    fine = words_of(("lead_unproven", "note"), ("battery_missing", "retest"))
    assert fine.heading.startswith("Both leads answer") and fine.sentences == ()


def test_every_fact_that_can_be_missing_has_its_sentence():
    for missing in ("", "rate", "unit", "scale", "column", "window", *SAID_BY_A_MAP):
        assert refused_words(missing).sentences[0]
