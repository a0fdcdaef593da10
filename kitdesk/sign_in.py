"""The forms at the door: fields named as on the other pages about accounts, the cursor in the first
box.
"""

from allauth.account.forms import LoginForm, ReauthenticateForm
from allauth.mfa.base import forms as second_step
from django import forms


class SignInForm(LoginForm):
    """Name and password; the labels stand above, so that nothing is repeated inside the fields."""

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        self.fields["login"].label = "Name to sign in with"
        _ready_to_type(self)


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
