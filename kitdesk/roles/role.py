"""The roles a person may hold, several at once, and what an account holds."""

from __future__ import annotations

from collections.abc import Iterable

from django.contrib.auth.base_user import AbstractBaseUser
from django.contrib.auth.models import AnonymousUser, User
from django.db.models import TextChoices


class DeskRole(TextChoices):
    """What somebody is at this desk. The owner is Django's superuser; every further role is a group
    of accounts with the role's name.
    """

    OWNER = "owner", "owner"
    PACKER = "packer", "packer"
    BENCH = "bench", "bench"
    READER = "reader", "reader"

    @property
    def sentence(self) -> str:
        """What somebody of this role does, for those who give it."""
        return _SENTENCES[self]


_SENTENCES = {
    DeskRole.OWNER: "Everything, and alone: limits, setup, people, backups, retiring, erasing.",
    DeskRole.PACKER: "Packs, posts and receives, sends mails, sees students and their money.",
    DeskRole.BENCH: (
        "Takes captures, swaps parts and clears kits; sees no student's address and no money."
    ),
    DeskRole.READER: "Reads all lists, students and money included, and changes nothing.",
}

Roles = frozenset[DeskRole]


def roles_of(account: AbstractBaseUser | AnonymousUser) -> Roles:
    """The roles of an account; none for nobody. Looked up once for each account at hand."""
    if not isinstance(account, User) or not account.is_active:
        return frozenset()
    if account.is_superuser:
        return frozenset({DeskRole.OWNER})
    kept: Roles | None = getattr(account, "_roles", None)
    if kept is None:
        kept = in_groups(group.name for group in account.groups.all())
        account._roles = kept  # type: ignore[attr-defined]
    return kept


def in_groups(names: Iterable[str]) -> Roles:
    """The roles that groups of these names stand for."""
    return frozenset(DeskRole(name) for name in names if name in DeskRole.values)


def in_words(roles: Iterable[DeskRole]) -> str:
    """Roles in the order of their table: ``packer, bench``; empty for none."""
    held = set(roles)
    return ", ".join(role.label for role in DeskRole if role in held)
