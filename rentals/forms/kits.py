"""Forms for kits and parts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, cast

from django import forms

from rentals.codes import grouped, parse_code
from rentals.errors import Refused
from rentals.models import SERIAL_KINDS, BatteryPack, KitType, Part, PartKind
from rentals.selectors.part_scan import code_meant
from rentals.states import LOOSE_PLACES, PartEnd, PartPlace

PLACES = [(place.value, place.label) for place in LOOSE_PLACES]
OUT_OF_USE = "If it is retired: what ended it"
_CAUSES = (PartEnd.WORN, PartEnd.DAMAGED, PartEnd.OTHER)
CAUSES = [("", "not said"), *((cause.value, cause.label) for cause in _CAUSES)]
FROM_THE_SPARE = "Scan the spare's label, or type its code or serial number."


class CodeField(forms.CharField):
    """A label code, typed or scanned; gives the code as stored."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 200)
        super().__init__(**kwargs)
        self.widget.attrs |= {
            "autocapitalize": "characters",
            "spellcheck": "false",
            "autocomplete": "off",
        }

    def clean(self, value: object) -> str:
        text = super().clean(value)
        if not text:
            return ""
        try:
            return parse_code(text)
        except ValueError as unreadable:
            raise forms.ValidationError(str(unreadable)) from unreadable


class PartCodeField(CodeField):
    """A part's label code or its printed serial number; gives the code."""

    def clean(self, value: object) -> str:
        text = forms.CharField.clean(self, value)
        if not text:
            return ""
        try:
            return code_meant(text)
        except Refused as refusal:
            raise forms.ValidationError(refusal.sentence) from refusal


class NewKitsForm(forms.Form):
    """One kit or several of a type."""

    kit_type = forms.ModelChoiceField(
        KitType.objects.filter(active=True), label="Kit type", empty_label=None
    )
    count = forms.IntegerField(
        label="How many",
        min_value=1,
        max_value=100,
        initial=1,
        help_text="Each gets its own code and label.",
    )
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea(attrs={"rows": 2}))


class NewPartForm(forms.Form):
    """One new part; the kind decides which of the further fields count."""

    kind = forms.ChoiceField(label="Kind", choices=[(k.value, k.label) for k in SERIAL_KINDS])
    serial = forms.CharField(
        label="Serial number",
        max_length=60,
        help_text="As on the part. None there? Write a mark on it and give that.",
    )
    bought_on = forms.DateField(
        label="Bought on", required=False, widget=forms.DateInput(attrs={"type": "date"})
    )
    kit = CodeField(
        label="Fit it into kit",
        required=False,
        help_text="Scan the kit, or leave empty for a spare.",
    )
    chemistry = forms.ChoiceField(
        label="Chemistry (battery pack, charger)",
        choices=BatteryPack.Chemistry.choices,
        initial="nimh",
        required=False,
    )
    capacity_mah = forms.IntegerField(
        label="Capacity in mAh, as its label says (battery pack)",
        min_value=50,
        max_value=20_000,
        required=False,
    )
    product_text = forms.CharField(
        label="Licence text (licence key)", max_length=120, required=False
    )
    expires_on = forms.DateField(
        label="Licence runs out on (licence key)",
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}),
    )

    def facts(self) -> dict[str, Any]:
        """The further facts that belong to the kind chosen."""
        data = self.cleaned_data
        chemistry = data["chemistry"] or "nimh"
        if data["kind"] == PartKind.BATTERY_PACK:
            return {"chemistry": chemistry, "capacity_mah": data["capacity_mah"]}
        if data["kind"] == PartKind.CHARGER:
            return {"chemistry": chemistry}
        if data["kind"] == "licence_key":
            return {"product_text": data["product_text"], "expires_on": data["expires_on"]}
        return {}


class RegisterHereForm(forms.Form):
    """A part that is not on file yet, into the kit at hand: `kinds` are those of its free
    places, each with its words.
    """

    kind = forms.ChoiceField(label="It is", widget=forms.RadioSelect)
    serial = forms.CharField(label="Serial number", max_length=60)

    def __init__(self, *args: Any, kinds: Mapping[str, str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offered = list(kinds.items())
        cast(forms.ChoiceField, self.fields["kind"]).choices = offered
        if self.initial.get("kind") not in dict(offered):
            self.initial["kind"] = offered[0][0] if offered else ""


class FitForm(forms.Form):
    """A spare into a kit: its code, or one of the `spares` that are offered."""

    part = PartCodeField(label="Part to fit", required=False, help_text=FROM_THE_SPARE)
    spare = forms.ChoiceField(label="Or a sound spare", required=False, widget=forms.RadioSelect)

    def __init__(self, *args: Any, spares: Iterable[Part] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offered = [(part.code, _spare_words(part)) for part in spares]
        if offered:
            cast(forms.ChoiceField, self.fields["spare"]).choices = offered
        else:
            del self.fields["spare"]

    def clean(self) -> dict[str, Any]:
        """One part, under ``part``."""
        data = self.cleaned_data
        typed, chosen = data.get("part", ""), data.pop("spare", "")
        if typed and chosen and typed != chosen:
            raise forms.ValidationError(
                f"Two spares are given: {typed} typed and {chosen} chosen. Take one of them away."
            )
        data["part"] = typed or chosen
        if not data["part"] and "part" not in self.errors:
            self.add_error("part", "Scan or choose the spare that goes in.")
        return data


def _spare_words(part: Part) -> str:
    return f"{grouped(part.code)} {part.get_kind_display()}, serial {part.serial}"


class SwapForm(FitForm):
    """A spare for a fitted part, and what becomes of that one."""

    to = forms.ChoiceField(label="The old part goes to", choices=PLACES, initial=Part.Place.REPAIR)
    cause = forms.ChoiceField(label=OUT_OF_USE, choices=CAUSES, required=False)
    reason = forms.CharField(label="Why", max_length=200, required=False)


class RemoveForm(forms.Form):
    """A part out of its kit, or from one place to another."""

    to = forms.ChoiceField(label="The part goes to", choices=PLACES)
    cause = forms.ChoiceField(label=OUT_OF_USE, choices=CAUSES, required=False)
    reason = forms.CharField(label="Why", max_length=200, required=False)

    def clean(self) -> dict[str, Any]:
        """A cause of retirement only where the part is retired."""
        data = self.cleaned_data
        if data.get("cause") and data.get("to", PartPlace.RETIRED) != PartPlace.RETIRED:
            self.add_error("cause", "This is for a part that is retired: choose retired above.")
        return data


class MoveForm(RemoveForm):
    """A loose part to another place than its own.

    Its own place is offered only where that says something: a damaged spare is sound again, a
    retired part gets another cause.
    """

    def __init__(self, *args: Any, part: Part, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        own = {PartPlace.RETIRED: "retired, for another cause"}
        if part.damaged:
            own[PartPlace.SPARE] = "spare, sound again"
        offered = [
            (place, own.get(PartPlace(place), "") if place == part.place else label)
            for place, label in PLACES
        ]
        choices = [("", "choose where to"), *(row for row in offered if row[1])]
        cast(forms.ChoiceField, self.fields["to"]).choices = choices


class ReasonForm(forms.Form):
    """A written reason."""

    reason = forms.CharField(
        label="Reason", max_length=300, widget=forms.Textarea(attrs={"rows": 3})
    )


class DamageForm(forms.Form):
    """What is broken."""

    note = forms.CharField(label="What is damaged", max_length=160)
    lead = forms.ChoiceField(
        label="Which lead",
        choices=[("", "not one lead"), ("A", "active A"), ("B", "active B"), ("ground", "ground")],
        required=False,
    )


class NoteForm(forms.Form):
    """A line for the history."""

    note = forms.CharField(label="Note", max_length=500, widget=forms.Textarea(attrs={"rows": 3}))
