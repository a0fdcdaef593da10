"""The sign-in form, its fields named as on the other pages about accounts."""

from allauth.account.forms import LoginForm


class SignInForm(LoginForm):
    """Name and password; the labels stand above, so that nothing is repeated inside the fields."""

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        self.fields["login"].label = "Name to sign in with"
        for name in ("login", "password"):
            self.fields[name].widget.attrs.pop("placeholder", None)
