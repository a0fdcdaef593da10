"""What an account holds, and what accounts of before have become."""

from importlib import import_module

import pytest
from django.apps import apps
from django.contrib.auth.models import AnonymousUser, User

from kitdesk.roles.role import DeskRole, in_groups, in_words, roles_of
from tests.kitdesk.roles.people import account_of

pytestmark = pytest.mark.django_db


def test_every_role_has_a_sentence_of_its_own():
    assert len({role.sentence for role in DeskRole}) == len(DeskRole)


def test_roles_come_from_groups_and_the_owner_needs_none(owner):
    account_of(DeskRole.PACKER, DeskRole.BENCH)
    helper = User.objects.get(username="packer-bench")
    assert roles_of(helper) == {DeskRole.PACKER, DeskRole.BENCH}
    assert roles_of(owner) == {DeskRole.OWNER}
    assert roles_of(AnonymousUser()) == frozenset()
    helper.is_active = False
    assert roles_of(helper) == frozenset()


def test_words_stand_in_the_order_of_the_roles_and_other_groups_are_none():
    assert in_words(in_groups(["reader", "choir", "packer"])) == "packer, reader"


def test_whoever_worked_here_before_goes_on_as_packer_and_at_the_bench(owner):
    former = User.objects.create_user("former")
    import_module("rentals.migrations.0040_roles_of_accounts").give_roles(apps, None)
    assert roles_of(User.objects.get(pk=former.pk)) == {DeskRole.PACKER, DeskRole.BENCH}
    assert not owner.groups.exists()
