"""The one next action for a capture, a finding or a kit at the bench, with its address.

What is next stands in ``readiness.judgement.next_acts``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.urls import reverse

from readiness.judgement.next_acts import (
    ActPlace,
    BenchAct,
    LeadSetFacts,
    capture_act,
    finding_act,
)
from readiness.models import Capture, Verdict
from readiness.signal.bench_tests.findings import NOTE, WORST_FIRST
from readiness.signal.errors import ASKED_WITH_COLUMNS
from readiness.states import CaptureStatus
from rentals.addresses import page_address
from rentals.models import Kit


@dataclass(frozen=True)
class NextStep:
    """A next action: `label` as a verb, `url` where it is done."""

    label: str
    url: str


def worst_finding(findings: list[Mapping[str, Any]]) -> Mapping[str, Any] | None:
    """The first of the gravest findings, notes included; None where there is none."""
    return min(findings, key=lambda finding: WORST_FIRST.index(finding["verdict"]), default=None)


def asks_column(capture: Capture) -> bool:
    """Whether a capture waits to be told which of its columns is which."""
    return capture.missing in ASKED_WITH_COLUMNS


def finding_step(capture: Capture, finding: Mapping[str, Any]) -> NextStep:
    """The next action of a finding of a capture."""
    return capture_step(capture, _act_of_finding(capture, finding))


def act_for(capture: Capture, verdict: Verdict | None) -> BenchAct:
    """What is next with a capture that has this current verdict."""
    findings = verdict.result["findings"] if verdict else []
    worst = worst_finding([row for row in findings if row["verdict"] != NOTE])
    return capture_act(
        CaptureStatus(capture.status),
        asks_column=asks_column(capture),
        worst_finding_act=_act_of_finding(capture, worst) if worst else None,
    )


def _act_of_finding(capture: Capture, finding: Mapping[str, Any]) -> BenchAct:
    return finding_act(finding, capture.test, lead_set_facts(capture))


def lead_set_facts(capture: Capture) -> LeadSetFacts:
    """Whether the lead set of a capture is on file, and still in the kit."""
    lead_set = capture.lead_set
    in_kit = lead_set is not None and lead_set.kit_id == capture.kit_id
    return LeadSetFacts(lead_set is not None, in_kit)


def capture_step(capture: Capture, act: BenchAct) -> NextStep:
    """An act on a capture with its address."""
    here = capture.get_absolute_url()
    match act.place:
        case ActPlace.CAPTURE:
            return NextStep(act.words, here)
        case ActPlace.ANSWER:
            return NextStep(act.words, here + "#answer")
        case ActPlace.MOVED:
            return NextStep(act.words, here + "#moved")
        case ActPlace.COLUMNS:
            return NextStep(act.words, page_address("readiness:columns", capture.pk))
    kit, lead_set = capture.kit, capture.lead_set
    assert kit is not None  # a capture is scored for a kit
    if act.place is ActPlace.SWAP and lead_set is not None:
        return NextStep(act.words, page_address("rentals:kit_swap", kit.code, lead_set.code))
    return kit_step(kit, act)


def kit_step(kit: Kit, act: BenchAct) -> NextStep:
    """An act on a kit with its address; one without a page of its own is done on the kit's."""
    bench_page = page_address("readiness:kit_bench", kit.code)
    match act.place:
        case ActPlace.BENCH:
            return NextStep(act.words, reverse("readiness:bench"))
        case ActPlace.KIT_BENCH:
            return NextStep(act.words, bench_page)
        case ActPlace.BATTERY:
            return NextStep(act.words, bench_page + "#battery")
        case ActPlace.ROUND:
            return NextStep(act.words, page_address("readiness:round", kit.code))
        case ActPlace.TIMER:
            timer = page_address("readiness:timer", act.test)
            return NextStep(act.words, f"{timer}?kit={kit.code}")
    return NextStep(act.words, kit.get_absolute_url())
