"""How long personal data are kept."""

from __future__ import annotations

from django import forms

from rentals.models import Practice


class RetentionForm(forms.ModelForm):
    """Months for students and photos, days for roster drafts."""

    class Meta:
        model = Practice
        fields = ("months_to_keep_students", "months_to_keep_photos", "days_to_keep_drafts")
        labels = {
            "months_to_keep_students": "Students, months",
            "months_to_keep_photos": "Photos, months",
            "days_to_keep_drafts": "Roster drafts, days",
        }
