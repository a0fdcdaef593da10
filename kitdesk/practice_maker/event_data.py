"""Numbers and hashes in what events and rounds of the bench say beside their words."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from readiness.models import Capture
from rentals.models import (
    Enrolment,
    Entry,
    FaultReport,
    Loan,
    LoanStep,
    PackingLine,
    Replacement,
    Shortfall,
)

from .chapters import Chapter
from .played import Played
from .tables import Table
from .words import rendered

#: Keys of an event's data that hold the number of a row.
_NUMBERS: dict[str, Table] = {
    "return_step": LoanStep,
    "fault_report": FaultReport,
    "replacement": Replacement,
    "replaced_by": Loan,
    "enrolment": Enrolment,
}
_OF_ENTRIES: dict[str, Table] = {"entry": Entry, "reverses": Entry, "shortfall": Shortfall}


class DataNumbers:
    """The same data with the numbers and hashes of one scene of a copy."""

    def __init__(
        self,
        played: Played,
        chapter: Chapter,
        shifts: list[int],
        words: Mapping[str, str],
        later: timedelta,
    ) -> None:
        self._played, self._chapter, self._shifts, self._later = played, chapter, shifts, later
        loans = played.values(chapter, Loan, "id", "packing_list_hash")
        self._lists = {
            str(old): _hashed(rendered(played.lists[int(str(pk))], words))
            for pk, old in loans
            if old
        }
        self._slips = {
            pk: _hashed(rendered(played.slips[pk], words))
            for (pk,) in played.values(chapter, Replacement, "id")
            if isinstance(pk, int) and pk in played.slips
        }

    def number(self, table: Table, old: int) -> int:
        """The number of a row in the copy. Raises LookupError where it has none."""
        return old + self._shifts[self._played.shift(table, old, self._chapter)]

    def copied(self, data: dict[str, Any]) -> dict[str, Any]:
        """An event's data in the copy."""
        new = dict(data)
        for key, table in _NUMBERS.items():
            if new.get(key) is not None:
                new[key] = self.number(table, new[key])
        if "packing_list" in new:
            new["packing_list"] = self.list_hash(new["packing_list"])
        if new.get("slip"):
            new["slip"] = self._slips[data["replacement"]]
        if "arrival" in new:
            new["arrival"] = [
                [self.number(PackingLine, line), *counts] for line, *counts in new["arrival"]
            ]
        if "ledger" in new:
            new["ledger"] = [self._entry(facts) for facts in new["ledger"]]
        return new

    def _entry(self, facts: dict[str, Any]) -> dict[str, Any]:
        new = dict(facts)
        for key, table in _OF_ENTRIES.items():
            if new[key] is not None:
                new[key] = self.number(table, new[key])
        new["day"] = (date.fromisoformat(new["day"]) + self._later).isoformat()
        return new

    def list_hash(self, old: str) -> str:
        """The hash of a packing list in the copy; of one that was packed anew, another one."""
        return self._lists.get(old) or _hashed(f"{old} {sorted(self._lists.values())[:1]}")

    def bench_tests(self, tests: dict[str, Any]) -> dict[str, Any]:
        """What a round says of its tests, with the copy's captures."""
        return {
            test: {**facts, "capture": self.number(Capture, facts["capture"])}
            for test, facts in tests.items()
        }


def _hashed(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
