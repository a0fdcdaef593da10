"""Forms for returns, loans and shortfalls."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.files.base import ContentFile
from django.utils import timezone
from django.utils.crypto import get_random_string

from rentals.models import Lead, Loan, PartKind, PayWay, ReturnLine
from rentals.photos import UnfitPhoto
from rentals.photos_apart import small_photo_of
from rentals.selectors.return_rest import ReturnRest, names_of
from rentals.states import ReturnOutcome

from .stock import day_field


class PhotoField(forms.FileField):
    """A photo of damage; gives a JPEG of at most 1600 pixels a side under an own name, without the
    camera's data.
    """

    widget = forms.FileInput(attrs={"accept": "image/*"})

    def clean(self, data: Any, initial: Any = None) -> ContentFile | None:
        upload = super().clean(data, initial)
        if not upload:
            return None
        try:
            jpeg = small_photo_of(upload)
        except UnfitPhoto as unfit:
            raise forms.ValidationError(str(unfit)) from unfit
        return ContentFile(jpeg, name=f"{get_random_string(24)}.jpg")


class PhotosInput(forms.FileInput):
    """A box for several photos."""

    allow_multiple_selected = True


class PhotosField(PhotoField):
    """Several photos, each as in `PhotoField`."""

    widget = PhotosInput(attrs={"accept": "image/*"})

    def clean(self, data: Any, initial: Any = None) -> Any:
        """The photos as a list."""
        if not data:
            return super().clean(None, initial)
        return [super(PhotosField, self).clean(photo, initial) for photo in data]


class PhotosForm(forms.Form):
    """Photos of what lacks."""

    photos = PhotosField(label="Add photos")


class ArrivalForm(forms.Form):
    """The day on which the parcel arrived; left empty it is today."""

    on = day_field(label="Arrived on", required=False)

    @classmethod
    def of(cls, loan: Loan) -> ArrivalForm:
        """The form with today and the days that can be."""
        form = cls(initial={"on": timezone.localdate()})
        days = {"max": timezone.localdate().isoformat()}
        if loan.dispatched_at:
            days["min"] = timezone.localtime(loan.dispatched_at).date().isoformat()
        form.fields["on"].widget.attrs.update(days)
        return form


class ArrivalDayForm(ArrivalForm):
    """Another day on which it arrived."""

    edits_row = True


class ReturnLineForm(forms.Form):
    """What became of one packing line. Only the fields that make sense for the line are there."""

    outcome = forms.ChoiceField(
        label="What became of it", choices=ReturnLine.Outcome.choices, required=False
    )
    quantity_back = forms.IntegerField(
        label="How many are back and sound", min_value=0, required=False
    )
    damaged_lead = forms.ChoiceField(
        label="Which lead", choices=[("", "not one lead"), *Lead.Role.choices], required=False
    )
    note = forms.CharField(label="What is wrong", max_length=300, required=False)
    photo = PhotoField(label="Photo", required=False)
    cleaned = forms.BooleanField(label="Cleaned", required=False)
    charged = forms.BooleanField(label="On charge", required=False)

    def __init__(self, *args: Any, line: ReturnLine, **kwargs: Any) -> None:
        kwargs.setdefault("prefix", f"line{line.pk}")
        kwargs.setdefault(
            "initial",
            {
                "outcome": line.outcome,
                "quantity_back": (
                    line.quantity_back
                    if line.outcome in (ReturnOutcome.BACK, ReturnOutcome.DAMAGED)
                    else None
                ),
                "damaged_lead": line.damaged_lead,
                "note": line.note,
                "cleaned": line.cleaned,
                "charged": line.charged,
            },
        )
        super().__init__(*args, **kwargs)
        self.line = line
        packed = line.packing_line
        if packed.quantity == 1:
            del self.fields["quantity_back"]
        if packed.part_kind != PartKind.LEAD_SET:
            del self.fields["damaged_lead"]
        if not packed.cleaned_between_users:
            del self.fields["cleaned"]
        if packed.part_kind != PartKind.BATTERY_PACK:
            del self.fields["charged"]

    @property
    def options(self) -> list[dict[str, str]]:
        """The outcomes to choose from for this line."""
        return [
            {"value": value, "label": label} for value, label in ReturnLine.Outcome.choices[1:4]
        ]

    @property
    def wants_details(self) -> bool:
        """Whether something is wrong, so that the details are opened."""
        wrong = self["outcome"].value() in (ReturnOutcome.MISSING, ReturnOutcome.DAMAGED)
        return wrong or bool(self.errors) or bool(self["note"].value())

    def facts(self) -> dict[str, Any]:
        """Arguments for the action, without the photo; fields that the line does not have are left
        out.
        """
        data = {name: fact for name, fact in self.cleaned_data.items() if name != "photo"}
        data["outcome"] = data["outcome"] or self.line.outcome
        # A count that the page showed belongs to the outcome before: with another one only a count
        # typed now stands.
        if (
            data["outcome"] != self.line.outcome
            and data.get("quantity_back") == self.initial["quantity_back"]
        ):
            data.pop("quantity_back", None)
        return data

    def photos(self) -> list[ContentFile]:
        """The photo that came with it, if one did."""
        photo = self.cleaned_data["photo"]
        return [photo] if photo else []


class RestForm(forms.Form):
    """All that is only counted is back; one tick for each step that still lacks."""

    cleaned = forms.BooleanField(required=False)
    charged = forms.BooleanField(required=False)

    def __init__(self, *args: Any, rest: ReturnRest, **kwargs: Any) -> None:
        kwargs.setdefault("auto_id", "rest-%s")
        super().__init__(*args, **kwargs)
        self.rest = rest
        steps = (
            ("cleaned", "Clean", rest.to_clean),
            ("charged", "On charge", rest.to_charge),
        )
        for name, step, lines in steps:
            self.fields[name].widget.attrs["form"] = "check"
            self.fields[name].label = f"{step}: {names_of(lines)}"
            if not lines:
                del self.fields[name]


class FoundForm(forms.Form):
    """A thing in the parcel that was not on its list."""

    text = forms.CharField(label="Something else was in the parcel", max_length=200)


class PutAsideForm(forms.Form):
    """Where a found thing lies."""

    edits_row = True
    lies = forms.CharField(
        label="Where it lies",
        max_length=120,
        help_text="A shelf or a box, so that it is found again.",
        widget=forms.TextInput(attrs={"data-autofocus": True}),
    )


class ExtendForm(forms.Form):
    """Another return date."""

    edits_row = True
    due_on = day_field(label="Due back on")


def _amount_field(label: str, help_text: str) -> forms.DecimalField:
    """An amount that may be left out."""
    return forms.DecimalField(
        label=label,
        min_value=0,
        max_digits=9,
        decimal_places=3,
        required=False,
        help_text=help_text,
    )


class MoneyForm(forms.Form):
    """Money that came or went: how much, when and by what way."""

    on = day_field(label="On", required=False, help_text="Left empty, today.")
    amount = _amount_field("Amount", "Left empty, all that is open.")
    way = forms.ChoiceField(
        label="By what way", choices=[("", "not said"), *PayWay.choices], required=False
    )
    memo = forms.CharField(label="Note", max_length=300, required=False)


class BalancePaidForm(MoneyForm):
    """The day on which what was left of a loan was paid."""

    on = day_field(label="Paid on", required=False, help_text="Left empty, it is not paid yet.")


class ClaimForm(MoneyForm):
    """What a carrier is asked for."""

    amount = forms.DecimalField(label="Amount", min_value=0, max_digits=9, decimal_places=3)
    way = None  # type: ignore[assignment]


class ChargeForm(forms.Form):
    """What the student pays."""

    amount = forms.DecimalField(label="Amount", min_value=0, max_digits=9, decimal_places=3)
    reason = forms.CharField(label="Why", max_length=300, required=False)
