"""Numbers and hashes in what events and rounds of the bench say beside their words."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from datetime import date
from typing import Any

from readiness.models import Capture
from rentals.models import (
    Enrolment,
    Entry,
    FaultReport,
    Kit,
    Loan,
    LoanStep,
    PackingLine,
    Replacement,
    Shortfall,
)

from .copy_numbers import CopyNumbers
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


class DataNumbers:
    """The same data with the numbers and hashes of one copy."""

    def __init__(self, played: Played, numbers: CopyNumbers, words: Mapping[str, str]) -> None:
        self.numbers, self.words = numbers, words
        loans = played.rows_of(Loan, "id", "packing_list_hash")
        self._lists = {
            str(old): _hashed(rendered(played.lists[int(str(pk))], words))
            for pk, old in loans
            if old
        }
        self._slips = {
            pk + numbers.added(Replacement): _hashed(rendered(phrase, words))
            for pk, phrase in played.slips.items()
        }
        self._codes = [
            (str(code).encode(), words[str(code)].encode())
            for (code,) in played.rows_of(Kit, "code")
        ]

    def copied(self, data: dict[str, Any]) -> dict[str, Any]:
        """An event's data in the copy."""
        new = dict(data)
        for key, table in _NUMBERS.items():
            if new.get(key) is not None:
                new[key] += self.numbers.added(table)
        if "packing_list" in new:
            new["packing_list"] = self.list_hash(new["packing_list"])
        if new.get("slip"):
            new["slip"] = self._slips[new["replacement"]]
        if "arrival" in new:
            added = self.numbers.added(PackingLine)
            new["arrival"] = [[line + added, *counts] for line, *counts in new["arrival"]]
        if "ledger" in new:
            new["ledger"] = [self._entry(facts) for facts in new["ledger"]]
        return new

    def _entry(self, facts: dict[str, Any]) -> dict[str, Any]:
        new = dict(facts)
        for key, table in (("entry", Entry), ("reverses", Entry), ("shortfall", Shortfall)):
            if new[key] is not None:
                new[key] += self.numbers.added(table)
        new["day"] = (date.fromisoformat(new["day"]) + self.numbers.later).isoformat()
        return new

    def list_hash(self, old: str) -> str:
        """The hash of a packing list in the copy; of one that was packed anew, another one."""
        return self._lists.get(old) or _hashed(f"{old} {self.numbers.number}")

    def bench_tests(self, tests: dict[str, Any]) -> dict[str, Any]:
        """What a round says of its tests, with the copy's captures."""
        added = self.numbers.added(Capture)
        return {
            test: {**facts, "capture": facts["capture"] + added} for test, facts in tests.items()
        }

    def relabelled(self, content: bytes) -> bytes:
        """A capture file with the copy's kit code in its head, as long as it was."""
        for old, new in self._codes:
            spaces = b" " * (len(new) - len(old))
            content = content.replace(old + spaces, new, 1)
        return content


def _hashed(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
