"""One finding as a line of a page, the same on the page of a capture and of a kit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from readiness.judgement.combining import title_of
from readiness.marks import finding_mark
from readiness.selectors.next_steps import NextStep
from readiness.signal.bench_tests.findings import NOTE
from rentals.marks import Mark


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


def finding_line(finding: Mapping[str, Any], step: NextStep) -> FindingLine:
    """The line of a stored finding; `step` is where its action is done."""
    note, action = finding["verdict"] == NOTE, str(finding["action"])
    return FindingLine(
        title=title_of(finding),
        text=finding["text"],
        mark=finding_mark(finding["verdict"]),
        note=note,
        advice=action if note or step.label != action else "",
        step=step,
    )
