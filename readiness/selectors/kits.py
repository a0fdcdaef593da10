"""One kit at the bench: its round, what is missing, what was found and what to do about each."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from django.utils import timezone

from readiness.judgement.next_acts import FIRST_FINDING, RoundFacts, round_act
from readiness.judgement.rounds import Since, at_the_bench, not_counted
from readiness.marks import verdict_mark
from readiness.models import BenchPlan, BenchTest, Capture
from readiness.selectors.batches import CaptureRow, row_of
from readiness.selectors.findings import FindingLine, line_of
from readiness.selectors.next_steps import NextStep, kit_step
from readiness.selectors.rounds import lacks_battery, of_earlier_rounds, round_since, with_verdict
from readiness.selectors.sureness import Sureness, sureness
from readiness.signal.catalogue import CATALOGUE, TestKind
from rentals.dates import short_date
from rentals.marks import Mark
from rentals.models import Kit

LATEST = 30


@dataclass(frozen=True)
class TestLine:
    """One test of the plan: how it is done, and the capture that counts, if there is one."""

    kind: TestKind
    capture_id: int | None
    mark: Mark
    verdict: str = ""

    __test__ = False  # no test of pytest's, in spite of its name


@dataclass(frozen=True)
class CaptureLine:
    """A capture of the kit and, where it does not count, why."""

    row: CaptureRow
    not_counted: str


@dataclass(frozen=True)
class KitBench:
    """What the bench page of a kit shows."""

    kit: Kit
    round: BenchTest | None
    since: Since
    at_the_bench: bool
    tests: list[TestLine]
    captures: list[CaptureLine]
    more: int
    findings: list[FindingLine] = field(default_factory=list)
    lacks_battery: bool = False
    sure: Sureness | None = None

    @property
    def next_test(self) -> TestKind | None:
        """The first test of the plan that has no verdict yet."""
        return next((line.kind for line in self.tests if line.capture_id is None), None)

    @property
    def verdict(self) -> str:
        """What the round has come to so far; empty while it is open."""
        return self.round.verdict if self.round else ""

    @property
    def mark(self) -> Mark:
        """How the round is shown."""
        return verdict_mark(self.verdict)

    @property
    def may_clear(self) -> bool:
        """Whether the kit is fit and yet not cleared: what stood against it may be mended."""
        return self._facts.may_clear

    @property
    def next(self) -> NextStep | None:
        """What to do first, where the kit cannot be cleared."""
        act = round_act(self._facts, finding_waits=bool(self.findings))
        if act is FIRST_FINDING:
            return self.findings[0].step
        return kit_step(self.kit, act) if act else None

    @property
    def _facts(self) -> RoundFacts:
        return RoundFacts(
            verdict=self.verdict,
            at_the_bench=self.at_the_bench,
            cleared=self.kit.cleared,
            next_test=self.next_test.name if self.next_test else "",
        )

    @property
    def sentence(self) -> str:
        """Where the kit stands at the bench."""
        if not self.at_the_bench:
            state = self.kit.get_state_display()
            return f"The kit is {state}: captures count when it is at the bench."
        if self.round is None:
            return f"Nothing was tested since {self.since.words}."
        return f"{self.round.sentence} {self.round.not_cleared_because}".strip()


def current_round(kit: Kit, since: Since) -> BenchTest | None:
    """The kit's round on the bench, if the one on file is that of now."""
    bench_round = BenchTest.objects.filter(kit=kit, current=True).first()
    is_of_now = bench_round is not None and bench_round.since == since.at
    return bench_round if is_of_now else None


@dataclass(frozen=True)
class KitPanel:
    """The bench's part of a kit's own page: the last round, and why it does not hold any more."""

    round: BenchTest | None
    overtaken: str


def kit_panel(kit: Kit) -> KitPanel:
    """The last round of a kit; one from before a return or a changed part is overtaken."""
    latest = kit.bench_tests.order_by("-current", "-at").first()
    since = round_since(kit)
    if latest is None or (latest.current and latest.since == since.at):
        return KitPanel(latest, "")
    day = f" on {short_date(timezone.localdate(since.at))}" if since.at else ""
    return KitPanel(latest, f"Since then: {since.words}{day}. Test again.")


def kit_bench(kit: Kit) -> KitBench:
    """Everything for the bench page of a kit."""
    since, plan = round_since(kit), BenchPlan.of(kit.kit_type)
    bench_round = current_round(kit, since)
    tested = bench_round.tests if bench_round else {}
    order = [*plan.required, *(test for test in tested if test not in plan.required)]
    latest = _latest_captures(kit)
    earlier = of_earlier_rounds(kit, latest)
    counted_keys = {entry["capture"] for entry in tested.values()}
    counted = [capture for capture in latest if capture.pk in counted_keys]
    by_test = {capture.test: capture for capture in reversed(counted)}
    return KitBench(
        kit=kit,
        round=bench_round,
        since=since,
        at_the_bench=at_the_bench(kit),
        tests=[_test_line(test, tested.get(test)) for test in order],
        captures=[
            CaptureLine(row_of(c), _why_not(c, kit, since, came_before=c.pk in earlier))
            for c in latest[:LATEST]
        ],
        more=max(0, len(latest) - LATEST),
        findings=_findings(bench_round, by_test) if bench_round else [],
        lacks_battery=any(lacks_battery(capture) for capture in counted),
        sure=sureness(counted) if bench_round and bench_round.verdict else None,
    )


def _latest_captures(kit: Kit) -> list[Capture]:
    """The kit's captures, newest first: as many as the page shows, and one that says there are
    more.
    """
    captures = Capture.objects.filter(kit=kit).select_related("kit", "lead_set")
    return list(with_verdict(captures).order_by("-taken", "-pk")[: LATEST + 1])


def _test_line(test: str, entry: dict[str, Any] | None) -> TestLine:
    if entry is None:
        return TestLine(CATALOGUE[test], None, verdict_mark("", "to record"))
    verdict = entry["verdict"]
    return TestLine(CATALOGUE[test], entry["capture"], verdict_mark(verdict), verdict)


def _why_not(capture: Capture, kit: Kit, since: Since, *, came_before: bool) -> str:
    """Why this one does not count. Of a kit that is not at the bench none counts: the page says it
    once, on top.
    """
    if capture.status != Capture.Status.SCORED or not (capture.set_aside or at_the_bench(kit)):
        return ""
    return not_counted(capture, kit, since, came_before=came_before)


def _findings(bench_round: BenchTest, captures: dict[str, Capture]) -> list[FindingLine]:
    any_capture = next(iter(captures.values()), None)
    lines = []
    for finding in bench_round.findings:
        capture = captures.get(finding.get("test", ""), any_capture)
        if capture is not None:
            lines.append(line_of(capture, finding))
    return lines
