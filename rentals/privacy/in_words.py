"""The list as sentences: for how long, and what an erasure does."""

from __future__ import annotations

from dataclasses import dataclass

from .keeping import Table, Term


@dataclass(frozen=True)
class Terms:
    """How long things are kept, as set: months after a loan is settled, days for drafts."""

    students: int
    photos: int
    drafts: int

    def words(self, term: Term) -> str:
        """For how long, in words."""
        return {
            Term.STUDENT: f"{_several(self.students, 'month')} after the last loan is settled",
            Term.PHOTOS: f"{_several(self.photos, 'month')} after the loan is settled",
            Term.DRAFTS: f"{_several(self.drafts, 'day')} after the upload",
            Term.FORMS: "14 days",
            Term.SESSIONS: "14 days",
            Term.RESULTS: "7 days",
            Term.DESK: "As long as the thing is on file",
        }[term]


def what_erasure_does(table: Table) -> str:
    """What becomes of the rows, in words."""
    if table.goes or table.wiped:
        return "Deleted."
    if table.empties or table.replaces:
        return "Emptied."
    if table.sweeps or table.bytes_swept or table.term is Term.SESSIONS:
        return "Names, addresses and numbers are replaced."
    return "Stays; it names nobody any more."


def _several(number: int, unit: str) -> str:
    return f"{number} {unit}" if number == 1 else f"{number} {unit}s"
