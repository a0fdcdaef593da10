"""The form that makes a webhook."""

from __future__ import annotations

from django import forms

from rentals.post.webhook import TOPICS


class WebhookForm(forms.Form):
    """Whom to tell, and of what."""

    address = forms.CharField(
        label="Address",
        max_length=500,
        widget=forms.URLInput,
        help_text="It begins with https:// and lies outside of the desk's own network.",
    )
    topics = forms.MultipleChoiceField(
        label="It is told when",
        choices=[(topic, f"{words} ({topic})") for topic, words in TOPICS.items()],
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one thing to tell."},
    )
