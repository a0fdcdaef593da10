"""Forms for what is sent to a student in place of something faulty."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms

from rentals.errors import Refused
from rentals.models import PackingLine
from rentals.planning.free_kits import FreeKit
from rentals.selectors.part_scan import code_meant

from .plan import OtherKitForm
from .stock import day_field


class ReplaceKitForm(OtherKitForm):
    """Which kit goes instead, what is wrong with the first, and when that is due back."""

    fault = forms.CharField(
        label="What is wrong with the faulty kit",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    due_on = day_field(label="The faulty kit is due back on")

    def __init__(self, data: Any, *, free: Iterable[FreeKit], initial: Any = None) -> None:
        super().__init__(data, free=free)
        self.initial.update(initial or {})


class ReplacePartForm(forms.Form):
    """Which line is faulty and why, what goes instead, and when the faulty one comes back."""

    line = forms.ModelChoiceField(
        label="Which part is faulty", queryset=PackingLine.objects.none(), empty_label="choose one"
    )
    why = forms.CharField(
        label="What is wrong with it", max_length=300, widget=forms.Textarea(attrs={"rows": 2})
    )
    part = forms.CharField(
        label="The spare that goes instead",
        required=False,
        max_length=60,
        help_text="Its code, typed or scanned. Left empty for what is only counted.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}),
    )
    quantity = forms.IntegerField(
        label="How many, of what is only counted", min_value=1, initial=1, required=False
    )
    back_by = day_field(
        label="The faulty one is due back by itself on",
        required=False,
        help_text="Left empty, it comes back with the kit.",
    )

    def __init__(self, *args: Any, lines: Iterable[PackingLine], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        keys = [line.pk for line in lines]
        choices = self.fields["line"]
        assert isinstance(choices, forms.ModelChoiceField)
        choices.queryset = PackingLine.objects.filter(pk__in=keys)

    def clean_part(self) -> str:
        """The label's code of the spare."""
        text = self.cleaned_data["part"].strip()
        try:
            return code_meant(text) if text else ""
        except Refused as refusal:
            raise forms.ValidationError(refusal.sentence) from refusal

    def clean_quantity(self) -> int:
        """One piece where nothing is typed."""
        return self.cleaned_data["quantity"] or 1


class SendForm(forms.Form):
    """How a parcel goes."""

    tracking_number = forms.CharField(label="Tracking number", max_length=60, required=False)
    carrier = forms.CharField(label="Carrier", max_length=60, required=False)
