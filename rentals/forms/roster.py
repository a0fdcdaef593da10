"""Forms of the roster import: the table, which column is what, and the corrections typed into the
preview.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms

from rentals.roster.columns import FIELDS
from rentals.roster.people import KEPT
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


_FIX = re.compile(r"row_([0-9]{1,7})_([a-z]+)")


@dataclass(frozen=True)
class Corrections:
    """What was typed and ticked in the part of the preview that was sent."""

    fixes: dict[int, dict[str, str]]
    left_out: dict[int, bool]
    keep: dict[int, bool]


def corrections_in(data: Mapping[str, str], before: Mapping[int, Mapping[str, str]]) -> Corrections:
    """Read the preview's fields ``row_<number>_<field>``.

    Parameters
    ----------
    data : mapping
        The posted form.
    before : mapping
        The texts each row had when it was shown, by number: what was not changed is no correction.
    """
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
    left_out = {
        number: f"row_{number}_leave" in data
        for number in _numbers(data.get("shown", ""))
        if number in before
    }
    return Corrections(fixes, left_out, keep)


def _numbers(text: str) -> Iterable[int]:
    return (int(piece) for piece in text.split(",") if piece.isdigit() and len(piece) < 8)
