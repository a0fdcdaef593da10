"""A drop of files for its page: one row a file, the worst first, each with its one next action."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import (
    Case,
    CharField,
    IntegerField,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
)

from readiness.marks import bench_mark
from readiness.models import Capture, Upload, Verdict
from readiness.selectors.next_steps import NextStep, act_for, capture_step, worst_finding
from readiness.selectors.rounds import verdict_of, with_verdict
from readiness.signal.errors import ASKED_WITH_COLUMNS
from readiness.states import VerdictWord
from rentals.marks import Mark

Status = Capture.Status


@dataclass(frozen=True)
class CaptureRow:
    """One capture in a list: its mark, what to say of it, and what to do."""

    capture: Capture
    verdict: Verdict | None
    mark: Mark
    words: str
    step: NextStep


def worst_first(captures: QuerySet[Capture]) -> QuerySet[Capture]:
    """Captures ordered by how much they need a person: not fit, asked, not readable, retest, in
    work, fit.
    """
    current = Verdict.objects.filter(capture=OuterRef("pk"), current=True).values("verdict")[:1]
    judged = captures.annotate(current_verdict=Subquery(current, output_field=CharField()))
    rank = Case(
        When(status=Status.SCORED, current_verdict=VerdictWord.NOT_FIT, then=Value(0)),
        When(status=Status.ASKING, then=Value(1)),
        When(status=Status.UNREADABLE, then=Value(2)),
        When(status=Status.SCORED, current_verdict=VerdictWord.RETEST, then=Value(3)),
        When(status__in=[Status.WAITING, Status.SCORING], then=Value(4)),
        default=Value(5),
        output_field=IntegerField(),
    )
    ranked = judged.annotate(rank=rank).order_by("rank", "name", "pk")
    return with_verdict(ranked.select_related("kit", "lead_set"))


def row_of(capture: Capture) -> CaptureRow:
    """The row of a capture whose current verdict is preloaded (see ``with_verdict``)."""
    verdict = verdict_of(capture) if capture.status == Status.SCORED else None
    mark = verdict.mark if verdict else bench_mark(Status(capture.status))
    return CaptureRow(
        capture=capture,
        verdict=verdict,
        mark=mark,
        words=_words(capture, verdict),
        step=capture_step(capture, act_for(capture, verdict)),
    )


def _words(capture: Capture, verdict: Verdict | None) -> str:
    if capture.set_aside:
        return f"Set aside: {capture.set_aside}"
    if verdict is None:
        return capture.refusal
    finding = worst_finding(verdict.result["findings"])
    return finding["text"] if finding else "Nothing found against it."


@dataclass(frozen=True)
class Progress:
    """How far the scoring of a drop is."""

    done: int
    total: int
    asking: int

    @property
    def finished(self) -> bool:
        """Whether nothing goes on in the background any more."""
        return self.done >= self.total


def progress_of(upload: Upload) -> Progress:
    """Counts of a drop, in one query."""
    statuses = list(upload.captures.values_list("status", flat=True))
    busy = sum(status in (Status.WAITING, Status.SCORING) for status in statuses)
    return Progress(len(statuses) - busy, len(statuses), statuses.count(Status.ASKING))


def asking_captures(upload: Upload, most: int = 50) -> list[Capture]:
    """The captures of a drop that ask something a form on the page can answer, at most `most`."""
    asking = upload.captures.filter(status=Status.ASKING).exclude(
        Q(missing__in=ASKED_WITH_COLUMNS) | Q(missing="")
    )
    return list(asking.select_related("kit").order_by("name", "pk")[:most])
