"""Whoever gives a role by hand in the database is found."""

import pytest
from django.contrib.auth.models import Group

from kitdesk.roles.role import DeskRole
from rentals.verifying.roles import role_faults
from tests.kitdesk.roles.people import account_of

pytestmark = pytest.mark.django_db


def test_a_role_that_no_event_gave_is_named(owner):
    helper = account_of(DeskRole.READER)
    assert list(role_faults()) == []
    helper.groups.add(Group.objects.get_or_create(name="packer")[0])
    words = "Account reader: it is packer, reader; its events say reader."
    assert list(role_faults()) == [words]
    helper.groups.remove(Group.objects.get(name="packer"))
    helper.is_superuser = True
    helper.save()
    assert list(role_faults()) == ["Account reader: it is owner, reader; its events say reader."]
