"""What student and instructor read of a capture."""

import pytest

from readiness.actions.student_captures import take_student_capture
from readiness.selectors.student_captures import instructor_rows, student_rows
from rentals.actions.guide import begin_help, report_fault
from tests.readiness.captures import capture_bytes, capture_file
from tests.rentals.guide import lent

pytestmark = pytest.mark.django_db


def test_the_student_reads_sentences_and_the_instructor_what_the_bench_says():
    visit = begin_help(lent(), "one_wrist")
    take_student_capture(visit, capture_file("good.csv", capture_bytes("worn")))
    take_student_capture(visit, capture_file("bad.csv", b"no recording"))
    bad, good = student_rows(visit)
    assert good.answer.heading.startswith("Both leads answer")
    assert good.answer.sentences == () and "ground lead is sound" in good.answer.limits
    assert bad.answer.heading == "The file could not be used." and not bad.answer.limits
    told, scored = instructor_rows(report_fault(visit))
    assert told.refusal and told.told == bad.answer
    assert scored.findings and scored.mark.word in ("fit", "retest")
    assert scored.told == good.answer
