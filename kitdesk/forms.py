"""Forms about accounts: the owner's on the first run, the helpers' later."""

from django import forms
from django.contrib.auth import get_user_model
from django.contrib.auth.forms import BaseUserCreationForm, SetPasswordForm
from django.contrib.auth.hashers import make_password

from kitdesk.roles.role import DeskRole

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


class HashesPassword(forms.BaseForm):
    """A form that makes the hash of its password when it is checked, which is before the act's
    transaction: hashing takes half a second, and nobody else should wait for it.
    """

    password_field = "password1"  # noqa: S105  (a field's name)

    def full_clean(self) -> None:
        super().full_clean()
        if self.is_bound and not self.errors:
            self.cleaned_data["password_hash"] = make_password(
                self.cleaned_data[self.password_field]
            )


def roles_field() -> forms.TypedMultipleChoiceField:
    """What somebody may do: one box for each role, with what it allows."""
    return forms.TypedMultipleChoiceField(
        label="What they may do",
        choices=[(role.value, f"{role.label.capitalize()}: {role.sentence}") for role in DeskRole],
        coerce=DeskRole,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick at least one role."},
    )


class RolesForm(forms.Form):
    """What an account may do."""

    edits_row = True
    roles = roles_field()


class HelperForm(HashesPassword, BaseUserCreationForm):
    """Somebody who works at this desk."""

    name = forms.CharField(label="Their name", max_length=120)
    roles = roles_field()
    field_order = ("name", "roles", "username", "email", "password1", "password2")

    class Meta(BaseUserCreationForm.Meta):
        model = get_user_model()
        fields = ("username", "email")

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        self.fields["email"].label = "Their e-mail address"
        _in_plain_words(self)


class NewPasswordForm(HashesPassword, SetPasswordForm):
    """A new password for somebody's account."""

    password_field = "new_password1"  # noqa: S105  (a field's name)

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
