"""How a place where personal data can stand is written down."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

#: What stands in the place of a name, alone and inside a sentence.
NOBODY = "A student who left"
SOMEBODY = "a student who left"
#: What stands where words must stand and people had typed them.
REMOVED = "Removed with the student's data."


class Term(StrEnum):
    """How long a thing is kept."""

    STUDENT = "student"
    PHOTOS = "photos"
    DRAFTS = "drafts"
    FORMS = "forms"
    SESSIONS = "sessions"
    RESULTS = "results"
    DESK = "desk"


@dataclass(frozen=True)
class Table:
    """One table: what stands in it and why, and what an erasure does to each of its columns.

    Attributes
    ----------
    model : str
        As ``rentals.Loan``.
    what, why : str
        For the page, in words.
    of : str
        The way from a row to its student, in the ORM's terms; empty where rows belong to no
        student.
    empties : tuple of str
        Columns of the student's rows that are emptied.
    replaces : mapping
        Columns of the student's rows that get fixed words instead; ``{pk}`` is the row's number.
    goes : bool
        The student's rows are deleted, with their files.
    sweeps : tuple of str
        Columns in which people write: the student's name, address, mail and phone are replaced in
        every row, whoever it belongs to.
    bytes_swept : str
        A column of files whose bytes are swept in the same way, length for length.
    bytes_of : str
        The way from a row with such a file to the students whom it may name.
    files : str
        A column of files that go with their rows.
    wiped : tuple of str
        Columns of rows that all go with every erasure, whoever it is of.
    nameless : tuple of str
        Columns that name no student.
    """

    model: str
    what: str = ""
    why: str = ""
    term: Term = Term.DESK
    of: str = ""
    empties: tuple[str, ...] = ()
    replaces: Mapping[str, str] = field(default_factory=dict)
    goes: bool = False
    files: str = ""
    sweeps: tuple[str, ...] = ()
    bytes_swept: str = ""
    bytes_of: str = ""
    wiped: tuple[str, ...] = ()
    nameless: tuple[str, ...] = ()

    @property
    def columns(self) -> set[str]:
        """Every column that is decided on."""
        several = (*self.empties, *self.replaces, *self.sweeps, *self.wiped, *self.nameless)
        return {*several, *filter(None, (self.files, self.bytes_swept))}


@dataclass(frozen=True)
class Elsewhere:
    """A place outside of the tables."""

    what: str
    holds: str
    how_long: str
    erased: str
