"""Forms about accounts: the owner's on the first run, the helpers' later."""

from django import forms
from django.contrib.auth import get_user_model
from django.contrib.auth.forms import BaseUserCreationForm, SetPasswordForm

PASSWORD_RULES = "At least 10 characters; no common one, not digits alone, not like the name."  # noqa: S105


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
        _in_plain_words(self)


class HelperForm(BaseUserCreationForm):
    """Somebody who works at this desk."""

    name = forms.CharField(label="Their name", max_length=120)
    field_order = ("name", "username", "email", "password1", "password2")

    class Meta(BaseUserCreationForm.Meta):
        model = get_user_model()
        fields = ("username", "email")

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        self.fields["email"].label = "Their e-mail address"
        _in_plain_words(self)


class NewPasswordForm(SetPasswordForm):
    """A new password for somebody's account."""

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        self.fields["new_password1"].help_text = PASSWORD_RULES


def _in_plain_words(form: forms.BaseForm) -> None:
    form.fields["username"].widget.attrs.pop("autofocus", None)
    form.fields["username"].label = "Name to sign in with"
    form.fields["username"].help_text = "Letters, digits and @ . + - _ only."
    form.fields["password1"].help_text = PASSWORD_RULES
    form.fields["password2"].label = "The same password again"
    form.fields["password2"].help_text = ""
