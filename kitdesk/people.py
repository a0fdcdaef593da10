"""The accounts of a desk: the owner makes those of the helpers, says what each may do, and closes
them again.
"""

from collections.abc import Iterable

from django.contrib.auth import get_user_model
from django.contrib.auth.models import Group, User
from django.db import IntegrityError, transaction
from django.db.models import QuerySet

from kitdesk.open_sessions import end_sessions
from kitdesk.roles.role import DeskRole, in_groups, in_words
from rentals.actions.record import record_roles
from rentals.errors import Refused


def accounts_of_people() -> QuerySet[User]:
    """Every account that somebody signs in with: those that stand for access tokens are none."""
    return get_user_model()._default_manager.filter(access_token__isnull=True)


def add_helper(
    username: str,
    password_hash: str,
    roles: Iterable[DeskRole],
    *,
    by: User | None = None,
    name: str = "",
    email: str = "",
) -> User:
    """Make an account that may do what its roles allow. Refused when the name is taken or no role
    is given.

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
            return set_roles(account.pk, roles, by=by)
    except IntegrityError as taken:
        raise Refused("Somebody signs in with this name already.", field="username") from taken


def set_roles(account_id: int, roles: Iterable[DeskRole], *, by: User | None) -> User:
    """Say what an account may do, from its next page on, and record it.

    Raises
    ------
    Refused
        If no role is left, or an owner would stop being one by their own hand: so there is always
        one.
    """
    chosen = frozenset(roles)
    if not chosen:
        raise Refused("Choose at least one role, or close the account.", field="roles")
    with transaction.atomic():
        account = get_user_model()._default_manager.select_for_update().get(pk=account_id)
        former = roles_held(account)
        if by is not None and account.pk == by.pk and DeskRole.OWNER in former - chosen:
            raise Refused("Another owner has to take this role from you.", field="roles")
        if chosen == former:
            return account
        account.is_superuser = DeskRole.OWNER in chosen
        account.save(update_fields=["is_superuser"])
        groups = [Group.objects.get_or_create(name=role.value)[0] for role in chosen]
        account.groups.set(groups)
        text = (
            f"{account.get_username()} is now: {in_words(chosen)}"
            f" (was: {in_words(former) or 'nothing'})."
        )
        record_roles(account.pk, sorted(chosen), text, actor=by)
    return account


def roles_held(account: User) -> frozenset[DeskRole]:
    """The roles given to an account, the owner's beside the others."""
    held = in_groups(group.name for group in account.groups.all())
    return held | {DeskRole.OWNER} if account.is_superuser else held - {DeskRole.OWNER}


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
