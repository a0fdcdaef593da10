"""Forms of the packing bench."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from django import forms
from django.http import QueryDict

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


class TrackingField(forms.CharField):
    """A tracking number; blanks within it are for the eye only."""

    def clean(self, value: Any) -> str:
        return "".join(super().clean(value).split())


def _tracking(help_text: str = "") -> TrackingField:
    return TrackingField(
        label="Tracking number",
        max_length=60,
        required=False,
        help_text=help_text,
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}
        ),
    )


def _carrier() -> forms.CharField:
    return forms.CharField(
        label="Carrier",
        max_length=60,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off", "list": "carriers"}),
    )


class ScanForm(forms.Form):
    """What the scanner typed; its errors say whose a wrong part is."""

    scan = forms.CharField(
        label="Part", max_length=2000, error_messages={"required": "Nothing was scanned."}
    )


class DispatchScanForm(ScanForm):
    """A scan of the pile that is dispatched, and who carries it."""

    carrier = _carrier()


class OverrideForm(forms.Form):
    """The owner's reason for issuing a kit that is not cleared."""

    reason = forms.CharField(
        label="Reason",
        max_length=500,
        help_text="Stays on the kit, the loan and the copy of the packing list that is kept here.",
        widget=forms.Textarea(attrs={"rows": 3}),
    )


class CloseForm(forms.Form):
    """Closing the parcel, and posting it with the same press where that is said."""

    tracking_number = _tracking("With a number the parcel counts as posted at once.")
    posted = forms.BooleanField(label="It is posted, without a number", required=False)
    carrier = _carrier()
    parcel_mass_g = _mass(
        "Worked out from the list; put the box on the scales and write what they say."
    )

    @classmethod
    def of(cls, mass_g: int, usual_carrier: str, *, is_complete: bool) -> CloseForm:
        """The form with what is known already; once all is in, the next scan is the number."""
        form = cls(initial={"parcel_mass_g": mass_g or None, "carrier": usual_carrier})
        if is_complete:
            form.fields["tracking_number"].widget.attrs["data-autofocus"] = True
        return form


class ShortDatedForm(forms.Form):
    """The owner's reason for letting pieces go out that expire during the loan."""

    reason = forms.CharField(
        label="Reason",
        max_length=500,
        help_text="Stays on the loan and in the kit's history.",
        widget=forms.Textarea(attrs={"rows": 3}),
    )


class DispatchForm(forms.Form):
    """Handing the parcel over."""

    tracking_number = _tracking()
    carrier = _carrier()
    parcel_mass_g = _mass(
        "As said when it was packed. If nobody has weighed it, it is worked out from the list."
    )

    @classmethod
    def of(cls, loan: Loan, usual_carrier: str) -> DispatchForm:
        """The form with what is known already."""
        return cls(
            initial={"parcel_mass_g": loan.parcel_mass_g, "carrier": loan.carrier or usual_carrier}
        )


class RunDispatchForm(forms.Form):
    """Handing several parcels over: one carrier, and a tracking number for each."""

    carrier = _carrier()

    def __init__(
        self, data: QueryDict | None, *, loans: Iterable[Loan], carriers: Sequence[str]
    ) -> None:
        super().__init__(data, initial={"carrier": carriers[0] if carriers else ""})
        for loan in loans:
            self.fields[self.name_of(loan)] = _tracking()

    @staticmethod
    def name_of(loan: Loan) -> str:
        """Name of the field for a loan's tracking number."""
        return f"number_{loan.pk}"


class TrackingForm(forms.Form):
    """Writing down or mending the tracking number of a parcel under way."""

    edits_row = True
    tracking_number = _tracking()

    @classmethod
    def of(cls, loan: Loan, data: Any = None) -> TrackingForm:
        """The form with the number on file."""
        return cls(data, initial={"tracking_number": loan.tracking_number})


class UndoForm(forms.Form):
    """Why something is undone."""

    reason = forms.CharField(
        label="Why",
        max_length=200,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
