"""Forms of the plan: one kit for one student."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from django import forms

from rentals.codes import NotACode, parse_code
from rentals.models import Kit
from rentals.planning.free_kits import FreeKit


class LendForm(forms.Form):
    """Who gets a kit."""

    enrolment = forms.TypedChoiceField(label="Student", coerce=int)

    def __init__(self, data: Any, *, waiting: Sequence[tuple[int, str]]) -> None:
        super().__init__(data)
        field: Any = self.fields["enrolment"]
        field.choices = [("", "choose one"), *waiting]


class OtherKitForm(forms.Form):
    """Which kit goes instead."""

    kit = forms.CharField(
        label="The kit that goes instead",
        help_text="Its code, typed or scanned.",
        max_length=40,
        widget=forms.TextInput(
            attrs={"list": "free-kits", "autocomplete": "off", "autocapitalize": "characters"}
        ),
    )

    def __init__(self, data: Any, *, free: Iterable[FreeKit]) -> None:
        first = next((kit.code for kit in free if not kit.set_aside), "")
        super().__init__(data, initial={"kit": first})

    def clean_kit(self) -> Kit:
        """The kit with the code."""
        try:
            code = parse_code(self.cleaned_data["kit"])
        except NotACode as refusal:
            raise forms.ValidationError(refusal.sentence) from refusal
        kit = Kit.objects.filter(code=code).first()
        if kit is None:
            raise forms.ValidationError(f"There is no kit {code}. Check the code on its label.")
        return kit
