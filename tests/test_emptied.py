"""A test with transactions of its own leaves the database as it was before the first test."""

import pytest
from django.contrib.auth.models import Group, Permission, User
from django.contrib.contenttypes.models import ContentType
from django.core.cache import cache
from django.db import DatabaseError, connection

from rentals.models import Entry, Kit
from rentals.verify import verify
from tests.emptied import LEDGER, Beginning, _triggers
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def beginning(db) -> Beginning:
    assert not Kit.objects.exists() and not User.objects.exists()
    return Beginning()


def djangos() -> None:
    raise AssertionError("nothing took a guard down")


def test_what_was_written_is_gone_and_what_migrations_put_in_is_there_again(beginning):
    groups = list(Group.objects.values_list("pk", "name"))
    rights = Permission.objects.count()
    packed_loan()
    User.objects.create_user("colleague").groups.add(*Group.objects.all())
    Group.objects.first().delete()
    ContentType.objects.get_for_model(Kit).delete()
    assert Entry.objects.exists() and Permission.objects.count() < rights
    beginning.restore(djangos)
    assert not Kit.objects.exists() and not Entry.objects.exists() and not User.objects.exists()
    assert list(Group.objects.values_list("pk", "name")) == groups
    assert Permission.objects.count() == rights
    assert ContentType.objects.get_for_model(Kit).model == "kit"
    assert verify() == []


def test_what_was_kept_in_the_cache_is_gone(beginning):
    cache.set("newest", 1, None)
    beginning.restore(djangos)
    assert cache.get("newest") is None


def test_the_ledger_is_guarded_again(beginning):
    packed_loan()
    beginning.restore(djangos)
    packed_loan()
    with pytest.raises(DatabaseError):
        Entry.objects.all().delete()


def test_where_a_guard_was_taken_down_django_empties_and_puts_it_up(beginning):
    with connection.cursor() as cursor:
        before = _triggers(cursor)
        name = before[0][0]
        if connection.vendor == "sqlite":
            cursor.execute(f"DROP TRIGGER {name}")
        else:
            table = "SELECT tgrelid::regclass::text FROM pg_trigger WHERE tgname = %s"
            cursor.execute(table, [name])
            cursor.execute(f"DROP TRIGGER {name} ON {cursor.fetchone()[0]}")
        assert _triggers(cursor) != before
    asked = []
    beginning.restore(lambda: asked.append(LEDGER))
    assert asked
