"""Forms of students."""

from __future__ import annotations

from django import forms

from rentals.models import STUDENT_FIELDS, Student
from rentals.roster.addresses import email_fault

from .choices import language_field


class StudentForm(forms.ModelForm):
    """Who the student is and where parcels go."""

    # The trade's own check speaks in sentences and knows the octet limits; the model's would only
    # say "not valid".
    email = forms.CharField(
        label="E-mail",
        max_length=320,
        widget=forms.EmailInput(attrs={"autocomplete": "off", "inputmode": "email"}),
    )

    language = language_field(
        "Language",
        "that of the practice",
        "Mails, papers and the student's own page are in it, as far as there are words of it.",
    )

    class Meta:
        model = Student
        fields = STUDENT_FIELDS
        labels = {"street": "Street and number"}
        help_texts = {"street": "A second line (flat, care of) goes on a line of its own."}
        widgets = {
            "street": forms.Textarea(attrs={"rows": 2}),
            "note": forms.Textarea(attrs={"rows": 2}),
            "phone": forms.TextInput(attrs={"inputmode": "tel"}),
        }

    def clean_email(self) -> str:
        """The address, refused with a sentence where no mail could reach it."""
        address = self.cleaned_data["email"].strip()
        if fault := email_fault(address):
            raise forms.ValidationError(fault, code="email")
        return address

    def _get_validation_exclusions(self) -> set[str]:
        # Uniqueness is the action's to judge: it names the student who has the address.
        names = super()._get_validation_exclusions()  # type: ignore[misc]  # not in the stubs
        return {*names, "email"}
