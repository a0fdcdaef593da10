"""The one next action for a capture or a finding: what it is called and where it leads."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.urls import NoReverseMatch, reverse

from readiness.models import Capture, Verdict
from readiness.signal.bench_tests.findings import NOTE
from readiness.signal.statistics.decision import NOT_FIT, RETEST

WORST_FIRST = (NOT_FIT, RETEST, NOTE)
LONGEST_LABEL = 36
BENCH_AGAIN = frozenset({RETEST})
LEAD_CODES = frozenset({"open_lead", "intermittent_lead", "leads_shorted"})


@dataclass(frozen=True)
class Step:
    """A next action: `label` as a verb, `url` where it is done."""

    label: str
    url: str


def worst_finding(findings: list[Mapping[str, Any]]) -> Mapping[str, Any] | None:
    """The first of the gravest findings, notes included; None where there is none."""
    return min(findings, key=lambda found: WORST_FIRST.index(found["verdict"]), default=None)


def step_for_finding(capture: Capture, found: Mapping[str, Any]) -> Step:
    """Where the action of a finding is done: at the lead set, at the timer, at the kit's bench
    page.

    The label is the action itself where it fits on a button, else what is done there in few words.
    """
    kit = capture.kit
    if found["code"] in LEAD_CODES and found["verdict"] == NOT_FIT and capture.lead_set is not None:
        return Step(_label(found, "Swap the lead set"), _swap_url(capture))
    if found["aspect"] == "battery":
        return Step(
            _label(found, "See to the battery"),
            reverse("readiness:kit_bench", args=[kit.code]) + "#battery",
        )
    if found["verdict"] in BENCH_AGAIN:
        url = reverse("readiness:timer", args=[capture.test]) + f"?kit={kit.code}"
        return Step(_label(found, "Test again"), url)
    return Step(_label(found, "See to the kit"), kit.get_absolute_url())


def _label(found: Mapping[str, Any], short: str) -> str:
    action = str(found["action"])
    return action if len(action) <= LONGEST_LABEL else short


def _swap_url(capture: Capture) -> str:
    """The page that swaps the lead set, where the loan loop has one and the set still sits in the
    kit.
    """
    try:
        if capture.lead_set.kit_id == capture.kit_id:
            return reverse("rentals:kit_swap", args=[capture.kit.code, capture.lead_set.code])
        return capture.kit.get_absolute_url()
    except NoReverseMatch:
        return capture.get_absolute_url()


def step_for(capture: Capture, verdict: Verdict | None) -> Step:
    """The one next action of a capture in a list."""
    here = capture.get_absolute_url()
    if capture.status == Capture.Status.ASKING:
        if capture.missing == "column":
            return Step("Say which column it is", reverse("readiness:columns", args=[capture.pk]))
        return Step("Answer", here + "#answer")
    if capture.status == Capture.Status.UNREADABLE:
        return Step("Record it again", here)
    if verdict is None:
        return Step("Look", here)
    found = worst_finding([f for f in verdict.result["findings"] if f["verdict"] != NOTE])
    if found is not None:
        return step_for_finding(capture, found)
    return Step("See the kit", reverse("readiness:kit_bench", args=[capture.kit.code]))
