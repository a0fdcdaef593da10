"""The forms at the door: fields named as on the other pages about accounts, the cursor in the first
box.
"""

from allauth.account.forms import LoginForm, ReauthenticateForm
from allauth.mfa.base import forms as second_step
from django import forms
from django.core.exceptions import ValidationError

from kitdesk.accounts import CODE_FIELD


class SignInForm(LoginForm):
    """Name and password; the labels stand above, so that nothing is repeated inside the fields."""

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        self.fields["login"].label = "Name to sign in with"
        _ready_to_type(self)
        if CODE_FIELD in self.data:
            self._offer_code()

    def clean(self) -> dict[str, object]:
        """Whoever has to wait is offered a box for a recovery code."""
        try:
            return super().clean()
        except ValidationError as problem:
            if problem.code == "wait":
                self._offer_code()
            raise

    def _offer_code(self) -> None:
        self.fields[CODE_FIELD] = forms.CharField(
            required=False,
            label="Recovery code",
            help_text="One of those you were given with the second step. Leave it empty to wait.",
            widget=forms.TextInput(attrs={"autocomplete": "one-time-code"}),
        )


class PasswordAgainForm(ReauthenticateForm):
    """The password once more, before the sign-in itself is changed."""

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        _ready_to_type(self)


class SecondStepForm(second_step.AuthenticateForm):
    """The code of the app, after the password."""

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        _ready_to_type(self)


class SecondStepAgainForm(second_step.ReauthenticateForm):
    """The code of the app once more, before the sign-in itself is changed."""

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        _ready_to_type(self)


def _ready_to_type(form: forms.BaseForm) -> None:
    """Labels stand above, so nothing is repeated inside the boxes; the first one has the cursor."""
    for field in form.fields.values():
        field.widget.attrs.pop("placeholder", None)
    first = next(iter(form.fields.values()))
    first.widget.attrs["autofocus"] = True
