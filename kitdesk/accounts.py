"""How people get accounts: the first-run page makes the owner's, the owner makes the others; nobody
signs up.
"""

from allauth.account.adapter import DefaultAccountAdapter
from django.http import HttpRequest


class ClosedSignup(DefaultAccountAdapter):
    """allauth's rules with the public sign-up shut, and its refusal in this desk's words."""

    error_messages = {
        **DefaultAccountAdapter.error_messages,
        "username_password_mismatch": (
            "This name and password do not belong together. Type both again."
        ),
    }

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False
