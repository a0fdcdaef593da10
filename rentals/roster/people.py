"""Rows of a roster as people: what each row says, what is wrong with it, and what saving it would
do.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from rentals.counts import counted
from rentals.languages import language_code

from .addresses import country_of, email_fault, email_key, postcode_warning
from .columns import FIELDS
from .overfull import cells_of, is_overfull, joined
from .questions import (
    Dweller,
    RowQuestion,
    moved_question,
    name_question,
    overfull_question,
    postal_key,
    postal_question,
)
from .sheet import MAX_COLUMNS, SheetRow, cell_name

#: What is kept of a student, with the room there is for each, in characters.
KEPT = {
    "name": 120,
    "email": 254,
    "phone": 40,
    "street": 200,
    "city": 100,
    "postcode": 20,
    "region": 100,
    "country": 100,
    "language": 12,
}
LABELS = {kept: FIELDS[kept] for kept in KEPT}
_NO_LANGUAGE = "“%s” is no language known here: write its name or code, as in de, or nothing."
_TWIN = (
    "The same e-mail address stands in row %(row)d. The same person twice: leave this row out. Two"
    " people: write an address of their own, for it tells two students apart."
)


@dataclass(frozen=True)
class Known:
    """A student who is on file already: what is kept of them, and where they stand on this run."""

    person: Mapping[str, str]
    on_run: bool = False
    withdrawn: bool = False


@dataclass(frozen=True)
class Choices:
    """What was decided in the preview, by row number: corrected texts, rows left out, records kept
    as they are, and the sentences of the questions answered with yes, by key.
    """

    fixes: Mapping[int, Mapping[str, str]] = field(default_factory=dict)
    left_out: frozenset[int] = frozenset()
    keep: frozenset[int] = frozenset()
    answers: Mapping[int, Mapping[str, str]] = field(default_factory=dict)


@dataclass(frozen=True)
class CellFault:
    """One thing wrong with a row: the field it concerns, its cell ("" for the row as a whole), and
    a sentence.
    """

    field: str
    cell: str
    sentence: str


@dataclass(frozen=True)
class Difference:
    """A known student's record against the roster, for one field."""

    label: str
    have: str
    comes: str


class RowStanding(StrEnum):
    """How a row of a roster compares with the records on file."""

    NEW = "new"
    KNOWN = "known"  # on file, and the record differs
    SAME = "same"  # on file, and the record agrees
    ON_RUN = "on_run"


@dataclass(frozen=True)
class PersonRow:
    """One row read as a person. `standing` says how it compares with the records on file."""

    number: int
    person: dict[str, str]
    faults: tuple[CellFault, ...]
    warnings: tuple[str, ...]
    standing: RowStanding
    differences: tuple[Difference, ...] = ()
    left_out: bool = False
    keep: bool = False
    questions: tuple[RowQuestion, ...] = ()

    @property
    def open_questions(self) -> tuple[RowQuestion, ...]:
        """What nobody has answered yet."""
        return tuple(question for question in self.questions if not question.answered)

    @property
    def bad(self) -> bool:
        """Whether the row stands in the way of saving."""
        return bool(self.faults or self.open_questions) and not self.left_out

    @property
    def counted(self) -> bool:
        """Whether saving does something with the row."""
        return not self.bad and not self.left_out


def read_people(
    rows: Sequence[SheetRow],
    fields: Mapping[str, int],
    *,
    heads: int,
    width: int = MAX_COLUMNS,
    on_file: Mapping[str, Known],
    choices: Choices,
    at_home: Mapping[str, Sequence[Dweller]] | None = None,
    each: Callable[[], object] = lambda: None,
) -> list[PersonRow]:
    """Every row as a person, in the order of the file; `each` is called after each.

    Parameters
    ----------
    rows : sequence of SheetRow
        The rows below the heads.
    fields : mapping
        Field to index of its column.
    heads : int
        How many columns have a head; a row with text beyond them is asked about.
    width : int
        How many cells a row may have, those without a head empty.
    on_file : mapping
        Students on file, by `email_key`.
    at_home : mapping
        Students on file by `postal_key`.
    """
    reader = _Reader(fields, heads, width, on_file, choices, at_home or {})
    people = []
    for row in rows:
        people.append(reader.person(row))
        each()
    return people


class _Reader:
    """Goes down the rows and keeps whom those above have named."""

    def __init__(
        self,
        fields: Mapping[str, int],
        heads: int,
        width: int,
        on_file: Mapping[str, Known],
        choices: Choices,
        at_home: Mapping[str, Sequence[Dweller]],
    ) -> None:
        self._fields, self._heads, self._width = fields, heads, width
        self._on_file, self._choices = on_file, choices
        self._seen: dict[str, int] = {}
        self._homes = {key: list(dwellers) for key, dwellers in at_home.items()}

    def person(self, row: SheetRow) -> PersonRow:
        """One row with its faults, questions and standing."""
        asked: dict[str, str] = {}
        if is_overfull(row, self._heads, self._width):
            row, asked["cells"] = self._put_together(row)
        fixes = self._choices.fixes.get(row.number, {})
        left_out = row.number in self._choices.left_out
        person, faults, warnings = _judged(row, self._fields, fixes)
        key = email_key(person["email"])
        if key and not left_out and (twin := self._seen.setdefault(key, row.number)) != row.number:
            faults.append(_fault("email", row, self._fields, _TWIN % {"row": twin}))
        known = self._on_file.get(key)
        standing, differences = _standing(person, known)
        if known and known.withdrawn:
            warnings.append("Withdrew from this run before; saving enrols them again.")
        if standing is RowStanding.ON_RUN:
            sentence = "Already on this run, with the same details: nothing to add."
            faults.append(_fault("", row, self._fields, sentence))
        asked["moved"] = "" if "cells" in asked else moved_question(person)
        asked["postal"] = "" if left_out else self._shared_home(row.number, person, known)
        asked["name"] = name_question(known.person["name"], person["name"]) if known else ""
        return PersonRow(
            number=row.number,
            person=person,
            faults=tuple(faults),
            warnings=tuple(warnings),
            standing=standing,
            differences=differences,
            left_out=left_out,
            keep=row.number in self._choices.keep,
            questions=self._questions(row.number, asked),
        )

    def _put_together(self, row: SheetRow) -> tuple[SheetRow, str]:
        whole = joined(row, self._fields, self._heads)
        sentence = overfull_question(
            counted(cells_of(row, self._heads), "cell", "cells"),
            counted(self._heads, "head", "heads"),
            whole.text if whole else "",
        )
        return (whole.row if whole else row), sentence

    def _shared_home(self, number: int, person: Mapping[str, str], known: Known | None) -> str:
        """The question about somebody else at the same postal address; none for a student who is
        on file there already.
        """
        home, key = postal_key(person), email_key(person["email"])
        if not home:
            return ""
        dwellers = self._homes.setdefault(home, [])
        others = [dweller for dweller in dwellers if email_key(dweller.email) != key]
        dwellers.append(Dweller(f"row {number}", person["name"], person["email"]))
        if not others or (known and postal_key(known.person) == home):
            return ""
        return postal_question(others[0], person["name"])

    def _questions(self, number: int, asked: Mapping[str, str]) -> tuple[RowQuestion, ...]:
        answers = self._choices.answers.get(number, {})
        return tuple(
            RowQuestion(key, sentence, answers.get(key) == sentence)
            for key, sentence in asked.items()
            if sentence
        )


def texts_of(row: SheetRow, fields: Mapping[str, int], fixes: Mapping[str, str]) -> dict[str, str]:
    """What a row says, by kept field, corrections first; parts of a name or an address are
    joined.
    """

    def cell(name: str) -> str:
        index = fields.get(name, -1)
        return row.cells[index].strip() if 0 <= index < len(row.cells) else ""

    texts = {name: " ".join(cell(name).split()) for name in KEPT}
    texts["name"] = texts["name"] or " ".join(f"{cell('first_name')} {cell('last_name')}".split())
    lines = [f"{cell('street')} {cell('house')}".strip(), cell("street2")]
    texts["street"] = "\n".join(line for line in lines if line)
    texts["email"] = texts["email"].removeprefix("mailto:")
    return {**texts, **{name: fix.strip() for name, fix in fixes.items() if name in KEPT}}


def _judged(
    row: SheetRow, fields: Mapping[str, int], fixes: Mapping[str, str]
) -> tuple[dict[str, str], list[CellFault], list[str]]:
    person = texts_of(row, fields, fixes)
    faults = _unread(row, fields, fixes)
    unread = {fault.field for fault in faults}
    if not person["name"] and "name" not in unread:
        faults.append(_fault("name", row, fields, "The name is missing."))
    if "email" not in unread and (sentence := email_fault(person["email"])):
        faults.append(_fault("email", row, fields, sentence))
    country, note = country_of(person["country"])
    warnings = [note] if note else []
    if country or not person["country"]:
        person["country"] = country
    elif "country" not in unread:
        said = (
            f"“{person['country'][:60]}” is no country known here: write its name or two-letter"
            " code."
        )
        faults.append(_fault("country", row, fields, said))
    if person["language"] and "language" not in unread:
        code = language_code(person["language"])
        if not code:
            faults.append(_fault("language", row, fields, _NO_LANGUAGE % person["language"][:60]))
        person["language"] = code or person["language"][: KEPT["language"]]
    if warning := postcode_warning(person["postcode"], country):
        warnings.append(warning)
    for name, room in KEPT.items():
        if len(person[name]) > room and name != "email":
            said = f"{LABELS[name]} is longer than {room} characters."
            faults.append(_fault(name, row, fields, said))
    return person, faults, warnings


def _unread(row: SheetRow, fields: Mapping[str, int], fixes: Mapping[str, str]) -> list[CellFault]:
    """Faults of the cells that could not be read, unless they are not used or have been typed in
    since.
    """
    parts = {"first_name": "name", "last_name": "name", "house": "street", "street2": "street"}
    by_column = {index: parts.get(name, name) for name, index in fields.items()}
    return [
        CellFault(by_column[column], cell_name(column, row.number), sentence)
        for column, sentence in sorted(row.troubles.items())
        if column in by_column and by_column[column] not in fixes
    ]


def _fault(name: str, row: SheetRow, fields: Mapping[str, int], sentence: str) -> CellFault:
    column = fields.get(
        name, fields.get("last_name", fields.get("first_name", -1)) if name == "name" else -1
    )
    return CellFault(name, cell_name(column, row.number) if column >= 0 else "", sentence)


def _standing(
    person: Mapping[str, str], on_file: Known | None
) -> tuple[RowStanding, tuple[Difference, ...]]:
    """An empty cell of the roster says nothing, so it never differs from the record."""
    if on_file is None:
        return RowStanding.NEW, ()
    differences = tuple(
        Difference(label, on_file.person[name], person[name])
        for name, label in LABELS.items()
        if name != "email" and person[name] and person[name] != on_file.person[name]
    )
    if on_file.on_run and not on_file.withdrawn and not differences:
        return RowStanding.ON_RUN, differences
    return (RowStanding.KNOWN if differences else RowStanding.SAME), differences
