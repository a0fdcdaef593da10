"""What a browser answers when it is asked for a passkey, taken or refused in words: the library
itself fails at an answer that is none.
"""

from collections.abc import Callable
from typing import Any

from allauth.mfa.webauthn.forms import (
    AddWebAuthnForm,
    AuthenticateWebAuthnForm,
    EditWebAuthnForm,
    LoginWebAuthnForm,
    ReauthenticateWebAuthnForm,
)
from django import forms
from django.core.exceptions import ValidationError

NOT_TAKEN = "This passkey was not taken. Try again, or choose another way in."
_LONGEST_NAME = 80
_NO_ANSWER = (AttributeError, LookupError, TypeError, ValueError)


def _in_words(read: Callable[[], Any]) -> Any:
    """What `read` makes of an answer. Raises ValidationError with a sentence."""
    try:
        return read()
    except ValidationError as problem:
        # A wait has words of its own.
        if problem.code != "incorrect_code":
            raise
        raise ValidationError(NOT_TAKEN, code="incorrect_code") from problem
    except _NO_ANSWER as problem:
        raise ValidationError(NOT_TAKEN, code="incorrect_code") from problem


def _name_field(**facts: Any) -> forms.CharField:
    return forms.CharField(
        label="Name of the key, for your own list", max_length=_LONGEST_NAME, **facts
    )


class PasskeyForm(AddWebAuthnForm):
    """A new passkey: its name, and whether it signs in alone."""

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        self.fields["name"] = _name_field(required=False, initial=self.fields["name"].initial)
        self.fields["credential"].error_messages["required"] = NOT_TAKEN
        alone = self.fields["passwordless"]
        alone.label = "It signs in alone, without the password"
        alone.help_text = "Else it is asked for after the password, as the second step."
        alone.initial = True

    def clean(self) -> dict[str, Any]:
        """The answer of the browser, judged."""
        return _in_words(super().clean)


class PasskeyNameForm(EditWebAuthnForm):
    """Another name for a passkey."""

    name = _name_field()


class PasskeySignInForm(LoginWebAuthnForm):
    """A passkey instead of name and password."""

    def clean_credential(self) -> Any:
        """The passkey that was given."""
        return _in_words(super().clean_credential)


class PasskeySecondStepForm(AuthenticateWebAuthnForm):
    """A passkey after the password."""

    def clean_credential(self) -> Any:
        """The passkey that was given."""
        return _in_words(super().clean_credential)


class PasskeyAgainForm(ReauthenticateWebAuthnForm):
    """A passkey once more, before the sign-in itself is changed."""

    def clean_credential(self) -> Any:
        """The passkey that was given."""
        return _in_words(super().clean_credential)
