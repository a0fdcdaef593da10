"""Rows of a roster as people: what each row says, what is wrong with it, and what saving it would
do.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from rentals.counts import counted

from .addresses import country_of, email_fault, email_key, postcode_warning
from .columns import FIELDS
from .sheet import SheetRow, cell_name

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
}
LABELS = {kept: FIELDS[kept] for kept in KEPT}


@dataclass(frozen=True)
class Known:
    """A student who is on file already: what is kept of them, and where they stand on this run."""

    person: Mapping[str, str]
    on_run: bool = False
    withdrawn: bool = False


@dataclass(frozen=True)
class Choices:
    """What was decided in the preview, by row number: corrected texts, rows left out, records kept
    as they are.
    """

    fixes: Mapping[int, Mapping[str, str]] = field(default_factory=dict)
    left_out: frozenset[int] = frozenset()
    keep: frozenset[int] = frozenset()


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

    @property
    def bad(self) -> bool:
        """Whether the row stands in the way of saving."""
        return bool(self.faults) and not self.left_out

    @property
    def counted(self) -> bool:
        """Whether saving does something with the row."""
        return not self.faults and not self.left_out


def read_people(
    rows: Sequence[SheetRow],
    fields: Mapping[str, int],
    *,
    width: int,
    on_file: Mapping[str, Known],
    choices: Choices,
) -> list[PersonRow]:
    """Every row as a person, in the order of the file.

    Parameters
    ----------
    rows : sequence of SheetRow
        The rows below the heads.
    fields : mapping
        Field to index of its column.
    width : int
        How many columns the heads name; text beyond them is a fault.
    on_file : mapping
        Students on file, by `email_key`.
    """
    first_seen: dict[str, int] = {}
    people = []
    for row in rows:
        fixes = choices.fixes.get(row.number, {})
        left_out = row.number in choices.left_out
        person, faults, warnings = _judged(row, fields, fixes, width)
        key = email_key(person["email"])
        if key and not left_out:
            if key in first_seen:
                faults.append(
                    _fault(
                        "email",
                        row,
                        fields,
                        f"The same e-mail address stands in row {first_seen[key]}.",
                    )
                )
            else:
                first_seen[key] = row.number
        standing, differences = _standing(person, on_file.get(key))
        if on_file.get(key) and on_file[key].withdrawn:
            warnings.append("Withdrew from this run before; saving enrols them again.")
        if standing is RowStanding.ON_RUN:
            faults.append(
                _fault(
                    "", row, fields, "Already on this run, with the same details: nothing to add."
                )
            )
        people.append(
            PersonRow(
                number=row.number,
                person=person,
                faults=tuple(faults),
                warnings=tuple(warnings),
                standing=standing,
                differences=differences,
                left_out=left_out,
                keep=row.number in choices.keep,
            )
        )
    return people


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
    row: SheetRow, fields: Mapping[str, int], fixes: Mapping[str, str], width: int
) -> tuple[dict[str, str], list[CellFault], list[str]]:
    person = texts_of(row, fields, fixes)
    faults = _unread(row, fields, fixes)
    if not faults and len(row.cells) > width and any(row.cells[width:]) and not fixes:
        cells = counted(len(row.cells), "cell", "cells")
        heads = counted(width, "head", "heads")
        said = f"The row has {cells} for {heads}: a comma may need quotation marks."
        faults.append(_fault("", row, fields, said))
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
