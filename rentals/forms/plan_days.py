"""Forms of the days of the plan."""

from __future__ import annotations

from django import forms
from django_countries.fields import CountryField

from rentals.models import Practice
from rentals.models.transit import MOST_DAYS_IN_POST


class TransitForm(forms.Form):
    """Working days that the post takes."""

    edits_row = True
    days_out = forms.IntegerField(
        label="Working days there",
        help_text="From the day it is posted, that day not counted.",
        min_value=0,
        max_value=MOST_DAYS_IN_POST,
    )
    days_back = forms.IntegerField(
        label="Working days back", min_value=0, max_value=MOST_DAYS_IN_POST
    )


class NewTransitForm(TransitForm):
    """The same for a further country."""

    place = CountryField(blank_label="choose one").formfield(label="Country")
    field_order = ("place", "days_out", "days_back")


class PlanDaysForm(forms.ModelForm):
    """Working days of the practice's own work, and those kept free."""

    class Meta:
        model = Practice
        fields = (
            "days_to_spare",
            "days_to_send",
            "days_to_check",
            "days_to_clean",
            "days_to_charge",
            "days_to_bench",
            "days_to_restock",
        )
        labels = {
            "days_to_spare": "To spare before a run",
            "days_to_send": "For posting back",
            "days_to_check": "Check",
            "days_to_clean": "Clean",
            "days_to_charge": "Charge",
            "days_to_bench": "Bench",
            "days_to_restock": "Restock",
        }
