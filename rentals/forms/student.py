"""The forms of the student's page."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from rentals.models import ArrivalLine, PackingLine
from rentals.planning.arrival import Arrived
from rentals.states import ArrivalOutcome

_CHOICES = [
    (ArrivalOutcome.HERE, _("here")),
    (ArrivalOutcome.MISSING, _("missing")),
    (ArrivalOutcome.DAMAGED, _("damaged")),
]


class ArrivedLineForm(forms.Form):
    """What arrived of one packing line."""

    outcome = forms.ChoiceField(
        choices=_CHOICES, widget=forms.RadioSelect, required=False, label=_("On arrival")
    )
    pieces = forms.IntegerField(
        label=_("How many of them"),
        min_value=1,
        required=False,
        help_text=_("Left empty, it is all of them."),
    )
    note = forms.CharField(
        label=_("What you see"), max_length=300, required=False, help_text=_("A few words.")
    )

    def __init__(
        self,
        *args: Any,
        line: PackingLine,
        before: ArrivalLine | None = None,
        all_here: bool = False,
        **kwargs: Any,
    ) -> None:
        kwargs.setdefault("prefix", f"line{line.pk}")
        if before is not None:
            kwargs.setdefault(
                "initial",
                {
                    "outcome": before.outcome,
                    "pieces": before.missing or before.damaged or None,
                    "note": before.note,
                },
            )
        super().__init__(*args, **kwargs)
        self.line = line
        self.all_here = all_here
        if line.quantity == 1:
            del self.fields["pieces"]
        else:
            self.fields["pieces"].widget.attrs["max"] = line.quantity

    def clean(self) -> dict[str, Any]:
        """One of the three must be chosen, unless the button for all was pressed."""
        data = super().clean() or {}
        if not data.get("outcome") and self.all_here:
            data["outcome"] = ArrivalOutcome.HERE
        if not data.get("outcome") and "outcome" not in self.errors:
            self.add_error("outcome", gettext("Say whether it is here, missing or damaged."))
        count = data.get("pieces")
        if count is not None and count > self.line.quantity:
            sentence = gettext("%(count)s were sent, so no more can lack.")
            self.add_error("pieces", sentence % {"count": self.line.quantity})
        return data

    @property
    def wants_details(self) -> bool:
        """Whether count and note are open."""
        chosen = self["outcome"].value()
        return bool(self.errors) or chosen in (ArrivalOutcome.MISSING, ArrivalOutcome.DAMAGED)

    @property
    def chosen_words(self) -> str:
        """What was said before, for a check that is closed."""
        chosen = self.initial.get("outcome", "")
        words = str(dict(_CHOICES).get(chosen, ""))
        return ": ".join(filter(None, (words, self.initial.get("note", ""))))

    def arrived(self) -> Arrived:
        """What the action takes."""
        data = self.cleaned_data
        outcome, count = data["outcome"], data.get("pieces") or self.line.quantity
        return Arrived(
            missing=count if outcome == ArrivalOutcome.MISSING else 0,
            damaged=count if outcome == ArrivalOutcome.DAMAGED else 0,
            note=data["note"],
        )


class ArrivalNoteForm(forms.Form):
    """What else is to be said of the parcel."""

    note = forms.CharField(
        label=_("Anything else about the parcel?"),
        max_length=600,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )


class PostedForm(forms.Form):
    """The kit is posted."""

    on = forms.DateField(
        label=_("Posted on"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    tracking_number = forms.CharField(
        label=_("Tracking number"),
        max_length=60,
        required=False,
        help_text=_("It stands on the receipt of the post."),
    )
