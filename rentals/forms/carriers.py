"""The form of a carrier."""

from __future__ import annotations

from django import forms

from rentals.models import Carrier
from rentals.post.tracking import pattern_fault


class CarrierForm(forms.ModelForm):
    """A carrier's name and the address of its tracking page."""

    class Meta:
        model = Carrier
        fields = ["name", "address_pattern"]
        labels = {"name": "Carrier", "address_pattern": "Address of its tracking page"}
        help_texts = {
            "name": "As it is written down when a parcel is dispatched.",
            "address_pattern": (
                "With {number} where the tracking number goes, as in"
                " https://parcels.example/track?id={number}. Copy it from the page of a parcel"
                " that you followed. Empty where there is none."
            ),
        }
        widgets = {
            "address_pattern": forms.TextInput(
                attrs={"inputmode": "url", "autocomplete": "off", "spellcheck": "false"}
            )
        }

    def clean_address_pattern(self) -> str:
        """What is wrong stands beside the field."""
        pattern = str(self.cleaned_data["address_pattern"])
        if pattern and (fault := pattern_fault(pattern)):
            raise forms.ValidationError(fault)
        return pattern
