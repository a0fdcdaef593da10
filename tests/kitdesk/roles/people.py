"""Accounts of each role."""

from django.contrib.auth.hashers import make_password
from django.contrib.auth.models import User
from django.test import Client

from kitdesk.people import add_helper
from kitdesk.roles.role import DeskRole

BACKEND = "allauth.account.auth_backends.AuthenticationBackend"


def account_of(*roles: DeskRole) -> User:
    """An account with these roles."""
    return add_helper("-".join(roles), make_password("slow-left-hand-77"), roles)


def client_of(*roles: DeskRole) -> Client:
    """A browser in which such an account is signed in."""
    client = Client()
    client.force_login(account_of(*roles), backend=BACKEND)
    return client
