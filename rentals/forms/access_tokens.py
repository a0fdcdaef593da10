"""The form that makes an access token."""

from __future__ import annotations

from datetime import date, timedelta

from django import forms
from django.utils import timezone

from rentals.access_keys import SCOPES

USUAL_DAYS = 365


def _in_a_year() -> date:
    return timezone.localdate() + timedelta(days=USUAL_DAYS)


class AccessTokenForm(forms.Form):
    """What the token is for, what it may do, and how long."""

    name = forms.CharField(
        label="Name",
        max_length=60,
        help_text="Which machine or program has it. Events name it: “token Bench computer”.",
    )
    scopes = forms.MultipleChoiceField(
        label="It may",
        choices=[(scope, f"{words} ({scope})") for scope, words in SCOPES.items()],
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one thing that the token may do."},
    )
    expires_on = forms.DateField(
        label="Last day",
        required=False,
        initial=_in_a_year,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        help_text="After it the token opens nothing. Left empty, it holds until it is revoked.",
    )
