"""One kit at the bench: its round, what is missing, what was found and what to do about each."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from readiness.judgement.combining import title_of
from readiness.judgement.rounds import Since, at_the_bench, not_counted
from readiness.models import BenchPlan, BenchTest, Capture
from readiness.selectors.batches import Row, row_of
from readiness.selectors.next_steps import NextStep, step_for_finding
from readiness.selectors.rounds import round_since, verdict_of, with_verdict
from readiness.signal.catalogue import CATALOGUE, TestKind
from rentals.models import Kit

LATEST = 30


@dataclass(frozen=True)
class TestLine:
    """One test of the plan: how it is done, and the capture that counts, if there is one."""

    kind: TestKind
    capture_id: int | None
    verdict: str

    __test__ = False  # no test of pytest's, in spite of its name


@dataclass(frozen=True)
class FoundLine:
    """A finding against the kit, named in few words, with its one next action."""

    title: str
    found: dict[str, Any]
    step: NextStep


@dataclass(frozen=True)
class CaptureLine:
    """A capture of the kit and, where it does not count, why."""

    row: Row
    not_counted: str


@dataclass(frozen=True)
class KitBench:
    """What the bench page of a kit shows."""

    round: BenchTest | None
    since: Since
    at_the_bench: bool
    tests: list[TestLine]
    captures: list[CaptureLine]
    more: int
    findings: list[FoundLine] = field(default_factory=list)
    lacks_battery: bool = False

    @property
    def next_test(self) -> TestKind | None:
        """The first test of the plan that has no verdict yet."""
        return next((line.kind for line in self.tests if line.capture_id is None), None)


def current_round(kit: Kit, since: Since) -> BenchTest | None:
    """The kit's round on the bench, if the one on file is that of now."""
    found = BenchTest.objects.filter(kit=kit, current=True).first()
    return found if found is not None and found.since == since.at else None


def kit_bench(kit: Kit) -> KitBench:
    """Everything for the bench page of a kit."""
    since, plan = round_since(kit), BenchPlan.of(kit.kit_type)
    found = current_round(kit, since)
    done = found.tests if found else {}
    order = [*plan.required, *(test for test in done if test not in plan.required)]
    own = with_verdict(Capture.objects.filter(kit=kit).select_related("kit", "lead_set"))
    latest = list(own.order_by("-taken", "-pk")[: LATEST + 1])
    return KitBench(
        round=found,
        since=since,
        at_the_bench=at_the_bench(kit),
        tests=[_test_line(test, done.get(test)) for test in order],
        captures=[CaptureLine(row_of(c), _why_not(c, kit, since)) for c in latest[:LATEST]],
        more=max(0, len(latest) - LATEST),
        findings=_findings(found, {c.test: c for c in reversed(latest) if c.pk in _counted(done)}),
        lacks_battery=any(_lacks_battery(c) for c in latest if c.pk in _counted(done)),
    )


def _counted(done: dict[str, Any]) -> set[int]:
    return {entry["capture"] for entry in done.values()}


def _test_line(test: str, entry: dict[str, Any] | None) -> TestLine:
    if entry is None:
        return TestLine(CATALOGUE[test], None, "")
    return TestLine(CATALOGUE[test], entry["capture"], entry["verdict"])


def _why_not(capture: Capture, kit: Kit, since: Since) -> str:
    """Why this one does not count. Of a kit that is not at the bench none counts: the page says it
    once, on top.
    """
    if capture.status != Capture.Status.SCORED or not (capture.set_aside or at_the_bench(kit)):
        return ""
    return not_counted(capture, kit, since)


def _lacks_battery(capture: Capture) -> bool:
    verdict = verdict_of(capture)
    return verdict is not None and verdict.battery is None


def _findings(found: BenchTest | None, captures: dict[str, Capture]) -> list[FoundLine]:
    if found is None:
        return []
    any_capture = next(iter(captures.values()), None)
    lines = []
    for finding in found.findings:
        capture = captures.get(finding.get("test", ""), any_capture)
        if capture is not None:
            lines.append(FoundLine(title_of(finding), finding, step_for_finding(capture, finding)))
    return lines
