"""Forms for fault reports and for the help by symptom."""

from __future__ import annotations

from django import forms


class FaultAnswerForm(forms.Form):
    """What was done about a fault."""

    edits_row = True
    answer = forms.CharField(
        label="What was done, or what the student should do",
        help_text="The student reads it on their page.",
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 5}),
    )
