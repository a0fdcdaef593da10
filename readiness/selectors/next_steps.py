"""The one next action for a capture or a finding: what it is called and where it leads."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.urls import reverse

from readiness.models import Capture, Verdict
from readiness.signal.bench_tests.findings import FINDING_KINDS, NOTE, WORST_FIRST
from readiness.signal.statistics.decision import NOT_FIT, RETEST

LONGEST_LABEL = 36


@dataclass(frozen=True)
class NextStep:
    """A next action: `label` as a verb, `url` where it is done."""

    label: str
    url: str


def worst_finding(findings: list[Mapping[str, Any]]) -> Mapping[str, Any] | None:
    """The first of the gravest findings, notes included; None where there is none."""
    return min(findings, key=lambda finding: WORST_FIRST.index(finding["verdict"]), default=None)


def step_for_finding(capture: Capture, finding: Mapping[str, Any]) -> NextStep:
    """Where the action of a finding is done: at the lead set, at the timer, at the kit's bench
    page.

    The label is the action itself where it fits on a button, else what is done there in few words.
    """
    kit, verdict = capture.kit, finding["verdict"]
    assert kit is not None  # a capture is scored for a kit
    place = FINDING_KINDS[finding["code"]].mended_at
    if place == "lead set" and verdict == NOT_FIT and capture.lead_set is not None:
        return NextStep(_label(finding, "Swap the lead set"), _swap_url(capture))
    if place == "battery":
        url = reverse("readiness:kit_bench", args=[kit.code]) + "#battery"
        return NextStep(_label(finding, "See to the battery"), url)
    if verdict == RETEST:
        url = reverse("readiness:timer", args=[capture.test]) + f"?kit={kit.code}"
        return NextStep(_label(finding, "Test again"), url)
    return NextStep(_label(finding, "See to the kit"), kit.get_absolute_url())


def _label(finding: Mapping[str, Any], short: str) -> str:
    action = str(finding["action"])
    return action if len(action) <= LONGEST_LABEL else short


def _swap_url(capture: Capture) -> str:
    """The page that swaps the lead set while it sits in the kit; else the kit's own."""
    kit, lead_set = capture.kit, capture.lead_set
    assert kit is not None and lead_set is not None
    if lead_set.kit_id == kit.pk:
        return reverse("rentals:kit_swap", args=[kit.code, lead_set.code])
    return kit.get_absolute_url()


def asks_column(capture: Capture) -> bool:
    """Whether a capture waits to be told which of its columns is which."""
    return capture.missing == "column"


def column_step(capture: Capture) -> NextStep:
    """Where a capture is told its columns."""
    return NextStep("Say which column it is", reverse("readiness:columns", args=[capture.pk]))


def step_for(capture: Capture, verdict: Verdict | None) -> NextStep:
    """The one next action of a capture in a list."""
    here = capture.get_absolute_url()
    if capture.status == Capture.Status.ASKING:
        if capture.missing == "column":
            url = reverse("readiness:columns", args=[capture.pk])
            return NextStep("Say which column it is", url)
        return NextStep("Answer", here + "#answer")
    if capture.status == Capture.Status.UNREADABLE:
        return NextStep("Record it again", here)
    if verdict is None:
        return NextStep("Look", here)
    findings = [row for row in verdict.result["findings"] if row["verdict"] != NOTE]
    worst = worst_finding(findings)
    if worst is not None:
        return step_for_finding(capture, worst)
    assert capture.kit is not None
    return NextStep("See the kit", reverse("readiness:kit_bench", args=[capture.kit.code]))
