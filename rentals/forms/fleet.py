"""The form of a fleet's table: which kit type new kits are of, the table, which column is what."""

from __future__ import annotations

import base64
from typing import Any, cast

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.db.models import QuerySet

from rentals.models import SERIAL_KINDS, ContentsLine, KitType
from rentals.roster.fleet_table import NO_COLUMN, FleetTable, as_text, fleet_table, kind_elsewhere
from rentals.roster.fleet_words import FLEET_FIELDS
from rentals.roster.letters import ENCODINGS, Reading, readings
from rentals.roster.sheet import MAX_COLUMNS, RosterUnreadable
from rentals.selectors.fleet import names_of_kinds

from .tables import TableForm

#: A table of `MAX_FLEET_ROWS` is smaller; a larger file is saved anew in UTF-8.
_MOST_CARRIED = 200_000
_COLUMN = {str(index): index for index in range(MAX_COLUMNS)}


class FleetForm(TableForm):
    """A table of kits and parts; a clean form has it as a `fleet`. `fleet` is also there, for the
    choice of columns, where only a column is not known.
    """

    kit_type = forms.ModelChoiceField(
        KitType.objects.none(), label="Kit type of new kits", empty_label=None
    )
    field_order = ("kit_type", "file", "table")
    fleet: FleetTable | None = None
    #: The ways to read the letters of the file that the table came from, and the one taken.
    readings: tuple[Reading, ...] = ()
    read_as = ""
    #: Its bytes, which the page carries as the table itself is carried.
    carried = ""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kit_type = cast("forms.ModelChoiceField[KitType]", self.fields["kit_type"])
        kit_type.queryset = types_with_serials()
        self.fields[
            "file"
        ].help_text = (
            "CSV or XLSX, one part a row: the kit it sits in, its kind and its serial number."
        )
        self.fields["table"].widget.attrs["rows"] = 10

    def clean_file(self) -> UploadedFile | None:
        """The file, and how its letters can be read where that is not certain."""
        file = super().clean_file()
        if file is not None and self.sheet.letters and len(self.original) <= _MOST_CARRIED:
            self._ask_letters(self.original, self.sheet.letters)
        return file

    def clean_table(self) -> str:
        """The table; where other letters were chosen, the file it came from read anew."""
        read_as = self.data.get("read_as", "")
        if not self.files and read_as in ENCODINGS:
            self.cleaned_data["table"] = self._read_anew(self.cleaned_data["table"], read_as)
        return super().clean_table()

    def _read_anew(self, text: str, read_as: str) -> str:
        wanted = self.data.get("letters") or read_as
        try:
            content = base64.b64decode(self.data.get("original", ""), validate=True)
            whole = content.decode(wanted) if wanted in ENCODINGS else text
        except ValueError:
            return text
        self._ask_letters(content, wanted if wanted in ENCODINGS else read_as)
        return text if wanted == read_as else whole

    def _ask_letters(self, content: bytes, read_as: str) -> None:
        self.readings, self.read_as = readings(content), read_as
        self.carried = base64.b64encode(content).decode()

    @property
    def letters_changed(self) -> bool:
        """Whether the table in the box is another one than was sent."""
        return self.read_as not in ("", self.data.get("read_as", ""))

    def clean(self) -> dict[str, Any]:
        """The table with its columns; each lacking one is named."""
        answers = super().clean() or {}
        if self.errors:
            return answers
        try:
            self.fleet = fleet_table(self.sheet, self.chosen_columns())
        except RosterUnreadable as unreadable:
            self.add_error("file" if answers["file"] else "table", str(unreadable))
            return answers
        heads = ", ".join(f"“{head[:40]}”" for head in self.fleet.columns.heads if head)
        for name in self.fleet.lacking:
            self.add_error(
                None,
                f"No heading says which column holds the {FLEET_FIELDS[name].lower()}. The"
                f" headings are {heads}. Say it under “Which column is what”, or rename one.",
            )
        lines = answers["kit_type"].lines.filter(tracked_by=ContentsLine.Tracked.SERIAL)
        own_names = names_of_kinds(lines)
        if "kind" not in self.chosen_columns() and (
            swapped := kind_elsewhere(self.fleet, own_names)
        ):
            self.add_error(None, swapped)
        return answers

    @property
    def typed(self) -> dict[str, str]:
        """What to fill the form in with to have the same table again."""
        columns = {name: self.data.get(name, "") for name in map("column_{}".format, FLEET_FIELDS)}
        chosen = {name: text for name, text in columns.items() if text}
        return {"table": as_text(self.sheet), "kit_type": str(self.data["kit_type"]), **chosen}

    def chosen_columns(self) -> dict[str, int]:
        """Columns that were chosen by hand; all others follow their headings."""
        chosen = {}
        for name in FLEET_FIELDS:
            text = self.data.get(f"column_{name}", "")
            if text in _COLUMN:
                chosen[name] = _COLUMN[text]
            elif name == "kit" and text == str(NO_COLUMN):
                chosen[name] = NO_COLUMN
        return chosen


def types_with_serials() -> QuerySet[KitType]:
    """Kit types in use that have parts with a serial."""
    kinds = [kind.value for kind in SERIAL_KINDS]
    types = KitType.objects.filter(active=True, lines__tracked_by="serial")
    return types.filter(lines__part_kind__in=kinds).distinct()
