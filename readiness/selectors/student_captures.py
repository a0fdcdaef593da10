"""Captures that students sent, as the student and as the instructor see them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from readiness.judgement.combining import title_of
from readiness.marks import bench_mark, finding_mark, verdict_mark
from readiness.models import StudentCapture
from readiness.states import CaptureStatus
from readiness.student_words import StudentAnswer, refused_words, result_words
from rentals.marks import Mark
from rentals.models import FaultReport, GuideVisit


@dataclass(frozen=True)
class StudentCaptureRow:
    """A capture as its student sees it; `answer` is None until it has been looked at."""

    capture: StudentCapture
    answer: StudentAnswer | None


@dataclass(frozen=True)
class InstructorCaptureRow:
    """The same as the instructor sees it: the bench's verdict and findings, or why there are none;
    `told` is what the student was told, in the desk's language.
    """

    capture: StudentCapture
    mark: Mark
    findings: list[tuple[str, Mark, str]]
    refusal: str
    told: StudentAnswer | None


def captures_of(visit: GuideVisit) -> QuerySet[StudentCapture]:
    """What was sent in a visit, the newest first."""
    return StudentCapture.objects.filter(visit=visit)


def student_rows(visit: GuideVisit) -> list[StudentCaptureRow]:
    """The captures of a visit in the language that is being spoken."""
    return [StudentCaptureRow(capture, answer_to(capture)) for capture in captures_of(visit)]


def answer_to(capture: StudentCapture) -> StudentAnswer | None:
    """What the student reads of a capture; None while it waits."""
    if not capture.settled:
        return None
    if capture.status == CaptureStatus.SCORED:
        return result_words(capture.result)
    return refused_words(capture.missing)


def instructor_rows(report: FaultReport) -> list[InstructorCaptureRow]:
    """The captures that came with a fault report."""
    return [_instructor_row(capture) for capture in captures_of(report.visit)]


def _instructor_row(capture: StudentCapture) -> InstructorCaptureRow:
    result: dict[str, Any] = capture.result
    scored = capture.status == CaptureStatus.SCORED
    mark = verdict_mark(result["verdict"]) if scored else bench_mark(CaptureStatus(capture.status))
    findings = [
        (title_of(finding), finding_mark(finding["verdict"]), finding["text"])
        for finding in result.get("findings", ())
    ]
    return InstructorCaptureRow(capture, mark, findings, capture.refusal, answer_to(capture))
