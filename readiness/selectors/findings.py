"""One finding as a line of a page, the same on the page of a capture and of a kit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from readiness.judgement.combining import title_of
from readiness.judgement.next_acts import answered_by_swap
from readiness.marks import finding_mark
from readiness.models import Capture
from readiness.selectors.next_steps import NextStep, finding_step, lead_set_facts
from readiness.signal.bench_tests.findings import NOTE
from rentals.dates import short_date
from rentals.lifecycle import Verb
from rentals.marks import Mark
from rentals.models import Event


@dataclass(frozen=True)
class FindingLine:
    """A finding named in few words, with its mark and where its action is done.

    `note`: nothing is to be done. `advice` is the action in full where no button says it.
    """

    title: str
    text: str
    mark: Mark
    note: bool
    advice: str
    step: NextStep


def line_of(capture: Capture, finding: Mapping[str, Any]) -> FindingLine:
    """The line of a finding of a capture; what was swapped since is not to be replaced again."""
    swapped = _swapped_since(capture, finding)
    return finding_line(finding, finding_step(capture, finding), swapped=swapped)


def finding_line(finding: Mapping[str, Any], step: NextStep, *, swapped: str = "") -> FindingLine:
    """The line of a stored finding; `step` is where its action is done, `swapped` a sentence that
    stands for its action.
    """
    note, action = finding["verdict"] == NOTE, swapped or str(finding["action"])
    return FindingLine(
        title=title_of(finding),
        text=finding["text"],
        mark=finding_mark(finding["verdict"]),
        note=note,
        advice=action if note or step.label != action else "",
        step=step,
    )


def _swapped_since(capture: Capture, finding: Mapping[str, Any]) -> str:
    """When the lead set that the finding is about was swapped, in a sentence; empty where it still
    is in the kit.
    """
    if not answered_by_swap(finding, lead_set_facts(capture)):
        return ""
    removals = Event.objects.filter(
        kit=capture.kit_id, part=capture.lead_set_id, verb=Verb.REMOVED, at__gte=capture.taken
    )
    removal = removals.order_by("-pk").first()
    on = f" on {short_date(timezone.localdate(removal.at))}" if removal else ""
    return f"The lead set was swapped{on}: test again."
