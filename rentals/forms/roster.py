"""Forms of the roster import: the table, which column is what, and the corrections typed into the
preview.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, cast

from django import forms

from rentals.roster.columns import FIELDS
from rentals.roster.letters import Reading
from rentals.roster.people import KEPT, PersonRow
from rentals.roster.sheet import tidy

from .tables import TableForm


class RosterFileForm(TableForm):
    """The roster of a run."""

    nothing_given = "Choose the roster file or paste the table first."

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["file"].label = "Roster file"
        self.fields["file"].help_text = (
            "CSV or XLSX with one student a row; names and e-mail addresses are needed, address "
            "and phone are taken where they are there."
        )


class ColumnsForm(forms.Form):
    """What each column of the file is."""

    def __init__(
        self, data: Any, *, heads: Sequence[str], fields: Mapping[str, int], samples: Sequence[str]
    ) -> None:
        super().__init__(data)
        by_column = {index: name for name, index in fields.items()}
        choices = [("", "not used"), *FIELDS.items()]
        self.heads = {f"column_{index}": index for index in range(len(heads))}
        for name, index in self.heads.items():
            self.fields[name] = forms.ChoiceField(
                label=heads[index] or f"Column {index + 1}",
                choices=choices,
                required=False,
                initial=by_column.get(index, ""),
                help_text="",
            )
            vars(self.fields[name])["sample"] = samples[index]

    def clean(self) -> dict[str, Any]:
        """Each meaning once; a name and an e-mail address are needed. The result is in `chosen`."""
        answers = super().clean() or {}
        self.chosen: dict[str, int] = {}
        for name, index in self.heads.items():
            field = answers.get(name)
            if not field:
                continue
            if field in self.chosen:
                self.add_error(
                    name, f"{FIELDS[field]} is chosen twice. Choose it for one column only."
                )
            else:
                self.chosen[field] = index
        if not {"name", "first_name", "last_name"} & set(self.chosen):
            self.add_error(None, "Say which column holds the names.")
        if "email" not in self.chosen:
            self.add_error(None, "Say which column holds the e-mail addresses.")
        return answers


_CHOOSE = "Choose the reading in which the names are right."


class LettersForm(forms.Form):
    """How the letters of the file are read, seen on texts of its own."""

    letters = forms.ChoiceField(
        label="The names are right here",
        widget=forms.RadioSelect,
        error_messages=dict.fromkeys(("required", "invalid_choice"), _CHOOSE),
    )

    def __init__(self, data: Any, *, readings: Sequence[Reading], chosen: str) -> None:
        super().__init__(data, initial={"letters": chosen})
        field = cast("forms.ChoiceField", self.fields["letters"])
        field.choices = [(reading.encoding, reading.label) for reading in readings]


_FIX = re.compile(r"row_([0-9]{1,7})_([a-z]+)")


@dataclass(frozen=True)
class Corrections:
    """What was typed and ticked in the part of the preview that was sent."""

    fixes: dict[int, dict[str, str]]
    left_out: dict[int, bool]
    keep: dict[int, bool]
    answers: dict[int, dict[str, str]]


def corrections_in(data: Mapping[str, str], people: Iterable[PersonRow]) -> Corrections:
    """Read the preview's fields ``row_<number>_<field>`` and ``row_<number>_yes_<question>``.

    Parameters
    ----------
    data : mapping
        The posted form.
    people : iterable of PersonRow
        The rows as they were shown: what was not changed is no correction.
    """
    shown = {row.number: row for row in people}
    before = {number: row.person for number, row in shown.items()}
    fixes: dict[int, dict[str, str]] = {}
    keep: dict[int, bool] = {}
    for key, text in data.items():
        match = _FIX.fullmatch(key)
        if not match or int(match[1]) not in before:
            continue
        number, field = int(match[1]), match[2]
        text = tidy(text)
        if field in KEPT and text != before[number].get(field, ""):
            fixes.setdefault(number, {})[field] = text
        elif field == "record":
            keep[number] = text == "keep"
    on_page = [number for number in _numbers(data.get("shown", "")) if number in before]
    left_out = {number: f"row_{number}_leave" in data for number in on_page}
    answers = {number: _answers(data, shown[number]) for number in on_page}
    return Corrections(fixes, left_out, keep, answers)


def _answers(data: Mapping[str, str], row: PersonRow) -> dict[str, str]:
    """The sentences that were answered with yes; the record's choice answers whose it is."""
    return {
        question.key: question.sentence
        for question in row.questions
        if f"row_{row.number}_yes_{question.key}" in data
        or (question.key == "name" and f"row_{row.number}_record" in data)
    }


def _numbers(text: str) -> Iterable[int]:
    return (int(piece) for piece in text.split(",") if piece.isdigit() and len(piece) < 8)
