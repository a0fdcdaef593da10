"""The form of a step after each return."""

from __future__ import annotations

from django import forms

from rentals.models import ReturnStep

from .choices import with_empty_choice_in_words


class ReturnStepForm(forms.ModelForm):
    """What is done, of which sort it is, and for which parts."""

    class Meta:
        model = ReturnStep
        formfield_callback = with_empty_choice_in_words
        fields = ["words", "kind", "part_kind"]
        labels = {"words": "What to do", "kind": "Sort of work", "part_kind": "Only for"}
