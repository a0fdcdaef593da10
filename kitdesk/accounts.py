"""How people get accounts: the first-run page makes the owner's, the owner makes the others; nobody signs up."""

from allauth.account.adapter import DefaultAccountAdapter
from django.http import HttpRequest


class ClosedSignup(DefaultAccountAdapter):
    """allauth's rules with the public sign-up shut."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False
