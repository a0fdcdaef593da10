"""Form for a step of the owner's own in the help by symptom."""

from __future__ import annotations

from django import forms

from rentals.models import OwnStep


class OwnStepForm(forms.ModelForm):
    """What to try, in the owner's words."""

    class Meta:
        model = OwnStep
        fields = ["title", "to_try", "rules_out"]
        labels = {
            "title": "In a few words",
            "to_try": "What the student should try",
            "rules_out": "What is ruled out if it did not help",
        }
        help_texts = {
            "to_try": "Students of every language read it as you write it here.",
            "rules_out": "A sentence, such as: The adapter was not broken.",
        }
        widgets = {"to_try": forms.Textarea(attrs={"rows": 4})}
