"""Files of one run whose samples are those of an earlier one: one recording proves one kit once."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import timedelta

from .bench_tests.findings import NOTE, finding, worst_first
from .capture import Recording
from .result import Finding, Report, Result
from .sample_marks import GRID_HZ, SampleMark, mark_of, same_samples
from .statistics.decision import FIT, RETEST

CODE = "repeated_samples"
A_TEST = timedelta(minutes=1)
"""Two recordings of one test of one kit lie further apart."""


@dataclass
class SamplesSeen:
    """The captures of a run that were looked at, in their order."""

    _captures: list[tuple[SampleMark, Report]] = field(default_factory=list)

    def compared(self, report: Report) -> Report:
        """The report, with a finding where an earlier file holds the same samples.

        It is a retest where the two files speak of different kits, tests or days, else a note.
        """
        capture, result = report.capture, report.result
        if capture is None or result is None:
            return report
        mark = mark_of(capture.emg.samples, capture.rate_hz)
        if mark is None:
            return report
        for earlier_mark, earlier in self._captures:
            later_s = same_samples(mark, earlier_mark)
            if later_s is not None:
                return _with_finding(report, result, _repeated(report, earlier, later_s))
        self._captures.append((mark, report))
        return report


def _with_finding(report: Report, result: Result, repeated: Finding) -> Report:
    if any(item.code == CODE and item.verdict != NOTE for item in result.findings):
        return report
    findings = worst_first((*result.findings, repeated))
    falls = repeated.verdict == RETEST and result.verdict == FIT
    verdict = RETEST if falls else result.verdict
    return replace(report, result=replace(result, findings=findings, verdict=verdict))


def _repeated(report: Report, earlier: Report, later_s: float) -> Finding:
    of_two = _claims_another(report, earlier)
    text = f"The samples are those of {earlier.file}{shift_in_words(later_s)}: one recording."
    if not of_two:
        return finding(CODE, NOTE, text, action="Count it once")
    return finding(
        CODE,
        RETEST,
        f"{text} The files give it {of_two}.",
        action="Record this test again",
    )


def shift_in_words(later_s: float) -> str:
    """By how much a file begins after or before the one whose samples it holds; empty where both
    begin alike.
    """
    if abs(later_s) < 1 / GRID_HZ:
        return ""
    word = "later" if later_s > 0 else "earlier"
    return f", from {abs(later_s):.3g} s {word} on"


def _claims_another(report: Report, earlier: Report) -> str:
    """What makes two recordings of one, in words; empty where nothing does."""
    here, there = report.capture, earlier.capture
    assert here is not None and there is not None  # both were scored
    if here.kit and there.kit and here.kit.strip().casefold() != there.kit.strip().casefold():
        return f"to kit {there.kit} and to kit {here.kit}"
    if report.result and earlier.result and report.result.test != earlier.result.test:
        return f"to the tests {earlier.result.test} and {report.result.test}"
    return "two times" if _taken_apart(here, there) else ""


def _taken_apart(here: Recording, there: Recording) -> bool:
    if here.taken is None or there.taken is None:
        return False
    apart = here.taken.replace(tzinfo=None) - there.taken.replace(tzinfo=None)
    return abs(apart) > A_TEST
