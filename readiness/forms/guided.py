"""The table of a guided round: one test for each file, as proposed until somebody changes it."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from django import forms

from readiness.intake.proposing import LEFT_OUT, Proposal
from readiness.signal.catalogue import CATALOGUE

LONGEST_TIMES = 20_000
#: The first and the last millisecond that a file's time is believed from: 2000 to 2100.
EARLIEST_MS, LATEST_MS = 946_684_800_000, 4_102_444_800_000


class RoundFilesForm(forms.Form):
    """One choice for each proposal. Sent, it holds only the files that were on the sent page: what
    came meanwhile is not confirmed unseen.
    """

    def __init__(self, proposals: Sequence[Proposal], tests: Sequence[str], data: Any = None):
        super().__init__(data)
        self.proposals = {
            f"test_{proposal.file.key}": proposal
            for proposal in proposals
            if data is None or f"test_{proposal.file.key}" in data
        }
        choices = [(test, CATALOGUE[test].title) for test in tests]
        for name, proposal in self.proposals.items():
            also = [] if proposal.test in (*tests, LEFT_OUT) else [proposal.test]
            own = [(test, CATALOGUE[test].title) for test in also]
            self.fields[name] = forms.ChoiceField(
                label=f"Test of {proposal.file.name}",
                choices=[*choices, *own, (LEFT_OUT, "None: leave it out")],
                initial=proposal.test,
                required=False,
            )

    @property
    def rows(self) -> list[tuple[Proposal, forms.BoundField]]:
        """Each proposal with its field."""
        return [(proposal, self[name]) for name, proposal in self.proposals.items()]

    def tests(self) -> dict[int, str]:
        """The chosen test of each file, by its key."""
        return {
            proposal.file.key: self.cleaned_data[name] for name, proposal in self.proposals.items()
        }


def saved_at(text: str) -> Mapping[str, datetime]:
    """When files were saved, by their names, from what the page's script noted; nothing where it is
    no such note.
    """
    if not text or len(text) > LONGEST_TIMES:
        return {}
    try:
        noted = json.loads(text)
    except (ValueError, RecursionError):
        return {}
    if not isinstance(noted, dict):
        return {}
    return {
        name: datetime.fromtimestamp(value / 1000, UTC)
        for name, value in noted.items()
        if isinstance(value, int) and EARLIEST_MS <= value <= LATEST_MS
    }
