"""The accounts of a desk: the owner makes those of the helpers, and closes them again."""

from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.db import IntegrityError, transaction

from kitdesk.open_sessions import end_sessions
from rentals.errors import Refused


def add_helper(username: str, password_hash: str, *, name: str = "", email: str = "") -> User:
    """Make an account that may do the daily work. Refused when the name is taken.

    The password comes as its hash, made before: that takes half a second, for which nobody else
    should have to wait.
    """
    first, _, last = name.strip().partition(" ")
    accounts = get_user_model()._default_manager
    try:
        with transaction.atomic():
            account = accounts.create_user(
                username=username, email=email, first_name=first, last_name=last
            )
            account.password = password_hash
            account.save(update_fields=["password"])
            return account
    except IntegrityError as taken:
        raise Refused("Somebody signs in with this name already.", field="username") from taken


def set_open(account_id: int, is_open: bool, *, by: User) -> User:
    """Open or close an account; a closed one is signed out everywhere at once. Refused for one's
    own.
    """
    with transaction.atomic():
        account = get_user_model()._default_manager.select_for_update().get(pk=account_id)
        if not is_open and account.pk == by.pk:
            raise Refused("This is your own account; somebody else has to close it.")
        account.is_active = is_open
        account.save(update_fields=["is_active"])
        if not is_open:
            end_sessions(account)
    return account


def set_password(account_id: int, password_hash: str) -> User:
    """Give an account a new password, made a hash before; it also signs it out everywhere."""
    with transaction.atomic():
        account = get_user_model()._default_manager.select_for_update().get(pk=account_id)
        account.password = password_hash
        account.save(update_fields=["password"])
        end_sessions(account)
    return account
