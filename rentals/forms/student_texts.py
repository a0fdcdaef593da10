"""The form of one text of the student's page."""

from __future__ import annotations

from django import forms


class StudentTextForm(forms.Form):
    """The words of one text."""

    edits_row = True
    body = forms.CharField(
        label="What it says",
        max_length=6000,
        widget=forms.Textarea(attrs={"rows": 12}),
        help_text="Lines that begin with “- ” become a list; an empty line begins a paragraph.",
    )
