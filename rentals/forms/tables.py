"""A table that is sent as a file or pasted into a box, read the same way."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from rentals.roster.apart import read_roster_apart
from rentals.roster.sheet import MAX_BYTES, RosterSheet, RosterUnreadable
from rentals.roster.text_table import read_pasted

#: Called so where a file would have its name.
PASTED = "Pasted table"


class TableForm(forms.Form):
    """A table, as a file or pasted; a clean form has it as a `sheet`."""

    file = forms.FileField(
        label="File",
        required=False,
        allow_empty_file=True,
        widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,.xlsx"}),
    )
    table = forms.CharField(
        label="Or paste the table",
        help_text="Copied from a spreadsheet, or cells parted by commas or semicolons.",
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 6, "spellcheck": "false", "autocomplete": "off"}),
    )
    nothing_given = "Choose a file or paste the table first."
    sheet: RosterSheet
    #: The bytes of the file; none of a pasted table, whose letters are certain.
    original = b""

    def clean_file(self) -> UploadedFile | None:
        """The file read as a sheet; refused with the reader's own sentence."""
        file = self.cleaned_data["file"]
        if file is None:
            return None
        # The size is asked before the bytes: a huge file is never held in memory.
        content = file.read() if file.size <= MAX_BYTES else bytes([88]) * (MAX_BYTES + 1)
        self.original = content
        try:
            self.sheet = read_roster_apart(content)
        except RosterUnreadable as unreadable:
            raise forms.ValidationError(str(unreadable), code="unreadable") from unreadable
        return file

    def clean_table(self) -> str:
        """The pasted text, read as a sheet where there is any."""
        text = self.cleaned_data["table"]
        if not text.strip():
            return ""
        try:
            self.sheet = read_pasted(text)
        except RosterUnreadable as unreadable:
            raise forms.ValidationError(str(unreadable), code="unreadable") from unreadable
        return text

    def clean(self) -> dict[str, Any]:
        """Exactly one of the two."""
        answers = super().clean() or {}
        if self.errors:
            return answers
        if answers["file"] and answers["table"]:
            self.add_error("table", "A file is chosen and a table pasted. Take one of them away.")
        elif not answers["file"] and not answers["table"]:
            self.add_error("file", self.nothing_given)
        return answers

    @property
    def source(self) -> str:
        """Name of the file, or words for a pasted table."""
        file = self.cleaned_data["file"]
        return file.name if file else PASTED
