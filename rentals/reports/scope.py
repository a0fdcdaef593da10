"""What a report speaks of: days, one run or all, with names or without."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from rentals.dates import long_date


@dataclass(frozen=True)
class ReportScope:
    """The days from `since` to `until`, both counted in and either left open, and the run by its
    key; `named` says whether students are called by their names.
    """

    since: date | None = None
    until: date | None = None
    run: int | None = None
    run_name: str = ""
    named: bool = True

    @property
    def words(self) -> str:
        """The scope as it stands in a sentence: ``From 1 March 2026, of run Spring``."""
        return ", ".join(filter(None, (self._days, self.run_name)))

    @property
    def _days(self) -> str:
        if self.since and self.until:
            return f"From {long_date(self.since)} to {long_date(self.until)}"
        if self.since:
            return f"Since {long_date(self.since)}"
        if self.until:
            return f"Until {long_date(self.until)}"
        return "" if self.run_name else "Since this desk began"
