"""Forms of the desk about what students say on their page."""

from __future__ import annotations

from django import forms


class ArrivalAnswerForm(forms.Form):
    """What was done about what lacked on arrival."""

    edits_row = True
    answer = forms.CharField(
        label="What was done",
        max_length=300,
        help_text="As in: a new swab bag was posted today.",
        widget=forms.TextInput(attrs={"data-autofocus": True}),
    )
