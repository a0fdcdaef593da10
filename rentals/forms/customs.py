"""The form of an answer about customs."""

from __future__ import annotations

from typing import Any, cast

from django import forms

NEEDED, NOT_NEEDED = "needed", "not_needed"


class CustomsAnswerForm(forms.Form):
    """Whether parcels to a place need a customs paper."""

    edits_row = True
    answer = forms.ChoiceField(label="Customs paper", required=False)
    note = forms.CharField(
        label="From whom you know it",
        help_text="For example: asked at the counter; the carrier's page of today.",
        max_length=300,
        required=False,
    )

    def __init__(self, data: Any, *, table_says: str, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        answer = cast("forms.ChoiceField", self.fields["answer"])
        answer.help_text = f"The table says: {table_says}."
        answer.choices = [
            ("", "As the table says"),
            (NEEDED, "Needed"),
            (NOT_NEEDED, "Not needed"),
        ]
