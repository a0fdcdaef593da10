"""The form of the first-run page."""

from django import forms
from django.contrib.auth import get_user_model
from django.contrib.auth.forms import BaseUserCreationForm


class OwnerForm(BaseUserCreationForm):
    """Who owns this desk, and how they sign in."""

    practice = forms.CharField(
        label="Name of your practice, course or school",
        max_length=120,
        help_text="It heads packing lists and mails; Setup can change it.",
        widget=forms.TextInput(attrs={"autocomplete": "organization", "autofocus": True}),
    )
    name = forms.CharField(
        label="Your name",
        max_length=120,
        help_text="As it stands on packing lists and mails.",
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )
    email = forms.EmailField(
        label="Your e-mail address",
        required=False,
        help_text="For notices to yourself. It can be added later.",
        widget=forms.EmailInput(attrs={"autocomplete": "email"}),
    )
    field_order = ("practice", "name", "username", "email", "password1", "password2")

    class Meta(BaseUserCreationForm.Meta):
        model = get_user_model()
        fields = ("username", "email")

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].widget.attrs.pop("autofocus", None)
        self.fields["username"].label = "Name to sign in with"
        self.fields["username"].help_text = "Letters, digits and @ . + - _ only."
