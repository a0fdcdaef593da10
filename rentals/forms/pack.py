"""Forms of the packing bench."""

from __future__ import annotations

from django import forms

from rentals.models import Loan

MAX_MASS_G = 70_000


def _mass(help_text: str) -> forms.IntegerField:
    return forms.IntegerField(
        label="Parcel mass, g",
        min_value=1,
        max_value=MAX_MASS_G,
        required=False,
        help_text=help_text,
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )


class ScanForm(forms.Form):
    """What the scanner typed; its errors say whose a wrong part is."""

    scan = forms.CharField(
        label="Part", max_length=2000, error_messages={"required": "Nothing was scanned."}
    )


class CloseForm(forms.Form):
    """Closing the parcel."""

    parcel_mass_g = _mass(
        "Worked out from the list; put the box on the scales and write what they say."
    )


class OverrideForm(forms.Form):
    """The owner's reason for issuing a kit that is not cleared."""

    reason = forms.CharField(
        label="Reason",
        max_length=500,
        help_text="Stays on the kit, the loan and the copy of the packing list that is kept here.",
        widget=forms.Textarea(attrs={"rows": 3}),
    )


class DispatchForm(forms.Form):
    """Handing the parcel over."""

    tracking_number = forms.CharField(
        label="Tracking number",
        max_length=60,
        required=False,
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}
        ),
    )
    carrier = forms.CharField(
        label="Carrier",
        max_length=60,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off", "list": "carriers"}),
    )
    parcel_mass_g = _mass("As weighed.")

    @classmethod
    def of(cls, loan: Loan, usual_carrier: str) -> DispatchForm:
        """The form with what is known already."""
        return cls(
            initial={"parcel_mass_g": loan.parcel_mass_g, "carrier": loan.carrier or usual_carrier}
        )

    def clean_tracking_number(self) -> str:
        """Blanks within a number are for the eye only."""
        return "".join(self.cleaned_data["tracking_number"].split())


class TrackingForm(forms.Form):
    """Writing down or mending the tracking number of a parcel under way."""

    tracking_number = DispatchForm.base_fields["tracking_number"]

    def clean_tracking_number(self) -> str:
        """Blanks within a number are for the eye only."""
        return "".join(self.cleaned_data["tracking_number"].split())


class UndoForm(forms.Form):
    """Why something is undone."""

    reason = forms.CharField(
        label="Why",
        max_length=200,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
