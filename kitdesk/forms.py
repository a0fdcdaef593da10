"""The form of the first-run page."""

from django import forms
from django.contrib.auth import get_user_model
from django.contrib.auth.forms import BaseUserCreationForm


class OwnerForm(BaseUserCreationForm):
    """Who owns this desk, and how they sign in."""

    name = forms.CharField(
        label="Your name",
        max_length=140,
        help_text="As it stands on packing lists and mails.",
        widget=forms.TextInput(attrs={"autocomplete": "name", "autofocus": True}),
    )
    email = forms.EmailField(
        label="Your e-mail address",
        required=False,
        help_text="For notices to yourself. It can be added later.",
        widget=forms.EmailInput(attrs={"autocomplete": "email"}),
    )
    field_order = ("name", "username", "email", "password1", "password2")

    class Meta(BaseUserCreationForm.Meta):
        model = get_user_model()
        fields = ("username", "email")

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].widget.attrs.pop("autofocus", None)
        self.fields["username"].label = "Name to sign in with"
        self.fields["username"].help_text = "Letters, digits and @ . + - _ only."
