"""The preview of a roster as the page shows it: which rows, in which group, with which fields to
type in.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from gettext import ngettext

from django.utils.http import urlencode

from rentals.counts import counted
from rentals.marks import Mark, Sign, mark_of
from rentals.models import RosterDraft
from rentals.roster.columns import FIELDS, Columns
from rentals.roster.people import KEPT, LABELS, PersonRow, RowStanding


@dataclass(frozen=True)
class RowField:
    """One field of a row to type in."""

    name: str
    label: str
    value: str
    id: str
    wrong: bool


@dataclass(frozen=True)
class ShownRow:
    """A row with its fields; `open_fields` are those that something is wrong with. `record` is what
    is chosen for a record on file: update, keep, or nothing yet.
    """

    row: PersonRow
    mark: Mark
    open_fields: tuple[RowField, ...]
    other_fields: tuple[RowField, ...]
    record: str = "update"


@dataclass(frozen=True)
class Tab:
    """One group of rows: the key in the address, its words and how many rows it has."""

    key: str
    label: str
    count: int


@dataclass(frozen=True)
class RosterPreview:
    """The preview of a roster: counts, groups, and the rows of the group that is shown."""

    tabs: tuple[Tab, ...]
    key: str
    rows: tuple[ShownRow, ...]
    bad: int
    enrolled: int
    neighbours: int
    left_out: int
    to_import: int
    new: int
    updated: int

    @property
    def sentence(self) -> str:
        """What stands in the way of the import, or whom it will enrol."""
        if self.bad:
            rows = counted(self.bad, "row stands", "rows stand")
            them = ngettext("it", "them", self.bad)
            return (
                f"{rows} in the way. Correct or answer {them} here, or leave {them} out on "
                "purpose; nothing is saved before."
            )
        if not self.to_import:
            return "every row is left out, so there is nobody to import."
        students = counted(self.to_import, "student", "students")
        records = counted(self.updated, "record", "records")
        updates = f", {records} updated" if self.updated else ""
        omission = f"; {self.left_out} left out" if self.left_out else ""
        return f"{students} to enrol, {self.new} of them new{updates}{omission}."

    @staticmethod
    def address(draft: RosterDraft, key: str, page: str) -> str:
        """Address of the preview at a group and page, as far as they make sense."""
        query = {"show": key} if key.isalpha() else {}
        if page.isdigit() and page != "1":
            query["page"] = page
        return draft.get_absolute_url() + (f"?{urlencode(query)}" if query else "")


#: The fields that a question is about.
_ADDRESS = {"street", "city", "postcode", "region", "country"}
_ASKED_FIELDS = {
    "cells": {"name", "email", "phone", *_ADDRESS},
    "moved": {"name", "email", *_ADDRESS},
    "postal": {"name", "email", *_ADDRESS},
    "name": {"name", "email"},
}
#: Groups of rows in the order in which they need a look.
TO_LOOK_AT = ("bad", "look", "known")


def _groups(people: Sequence[PersonRow]) -> dict[str, tuple[str, list[PersonRow]]]:
    """The rows of each group under its key, with its words; a row can be in several."""
    to_import = [row for row in people if row.counted]
    differing = [row for row in to_import if row.standing == RowStanding.KNOWN]
    return {
        "bad": ("In the way", [row for row in people if row.bad]),
        "look": ("Look closer", [row for row in to_import if row.warnings]),
        "known": ("Known, with differences", differing),
        "left": ("Left out", [row for row in people if row.left_out]),
        "all": ("All rows", list(people)),
    }


def preview_of(people: Sequence[PersonRow], key: str) -> RosterPreview:
    """Group the rows; where `key` names no group with rows, the first that needs a look is
    shown.
    """
    groups = _groups(people)
    if key not in groups or not groups[key][1]:
        key = next((name for name in TO_LOOK_AT if groups[name][1]), "all")
    to_import = [row for row in people if row.counted]
    return RosterPreview(
        tabs=tuple(
            Tab(name, label, len(rows))
            for name, (label, rows) in groups.items()
            if rows or name == key
        ),
        key=key,
        rows=tuple(_shown_row(row) for row in groups[key][1]),
        bad=len(groups["bad"][1]),
        enrolled=sum(row.standing == RowStanding.ON_RUN for row in groups["bad"][1]),
        neighbours=sum(
            question.key == "postal" for row in groups["bad"][1] for question in row.open_questions
        ),
        left_out=len(groups["left"][1]),
        to_import=len(to_import),
        new=sum(row.standing == RowStanding.NEW for row in to_import),
        updated=sum(row.standing == RowStanding.KNOWN and not row.keep for row in to_import),
    )


def _shown_row(row: PersonRow) -> ShownRow:
    wrong = {fault.field for fault in row.faults}
    to_look_at = set(wrong)
    if row.standing is not RowStanding.ON_RUN and row.faults:
        to_look_at |= {"name", "email"}
    for question in row.open_questions:
        to_look_at |= _ASKED_FIELDS[question.key]
    if row.warnings:
        to_look_at |= {"postcode", "country"}
    fields = [
        RowField(
            f"row_{row.number}_{name}",
            LABELS[name],
            row.person[name],
            f"id_row_{row.number}_{name}",
            name in wrong,
        )
        for name in KEPT
    ]
    names = list(KEPT)
    return ShownRow(
        row,
        _row_mark(row),
        tuple(field for name, field in zip(names, fields, strict=True) if name in to_look_at),
        tuple(field for name, field in zip(names, fields, strict=True) if name not in to_look_at),
        _record(row),
    )


def _record(row: PersonRow) -> str:
    """What is chosen for the record: nothing while it is open whose it is."""
    if any(question.key == "name" for question in row.open_questions):
        return ""
    return "keep" if row.keep else "update"


def reading_of(draft: RosterDraft) -> dict[str, object]:
    """How the file was read: notes, which column is used for what, and which are not used."""
    heads, fields = draft.content["heads"], draft.content["fields"]
    columns = Columns(tuple(heads), fields, draft.content["head_row"])
    used = [(label, heads[fields[name]]) for name, label in FIELDS.items() if name in fields]
    return {"notes": draft.content["notes"], "ignored": columns.ignored, "used": used}


def _row_mark(row: PersonRow) -> Mark:
    if row.left_out:
        return mark_of(Sign.ENDED, "left out")
    if row.faults:
        return mark_of(Sign.ERROR, "in the way")
    if row.open_questions:
        return mark_of(Sign.CAUTION, "to answer")
    match row.standing:
        case RowStanding.KNOWN:
            return mark_of(Sign.NOTE, "kept as on file" if row.keep else "updates the record")
        case RowStanding.SAME:
            return mark_of(Sign.NOTE, "on file")
    return mark_of(Sign.SUCCESS, "new")
