"""Queries whose text is worked out once answer as those that are built each time."""

import pytest
from django.db import connection
from django.db.models import Exists

from rentals.known_query import KnownQuery
from rentals.models import Kit, Part
from tests.factories import complete_kit

pytestmark = pytest.mark.django_db


def _of_kit(kit: int):
    parts = Part.objects.filter(kit=kit).exclude(kind="charger").order_by("code")
    return parts.values_list("code", "kit")


def test_each_number_has_its_own_rows_and_the_text_is_built_once(django_assert_num_queries):
    kits, built = [complete_kit(), complete_kit()], []
    query = KnownQuery(lambda kit: built.append(kit) or _of_kit(kit))
    for kit in kits * 2:
        wanted = list(_of_kit(kit.pk))
        with django_assert_num_queries(1):
            assert query.rows(kit.pk) == wanted != []
    assert len(built) == 1


def test_rows_are_those_of_now():
    kit = complete_kit()
    query = KnownQuery(
        lambda pk: Kit.objects.filter(pk=pk).values_list("note", Exists(_of_kit(pk)))
    )
    assert query.rows(kit.pk) == [("", True)]
    Kit.objects.filter(pk=kit.pk).update(note="Its bag is torn.")
    assert query.rows(kit.pk) == [("Its bag is torn.", True)]
    assert query.rows(kit.pk + 1) == []


def test_a_query_that_asks_for_no_number_is_refused():
    with pytest.raises(AssertionError, match="does not ask for the number"):
        KnownQuery(lambda pk: Kit.objects.values_list("code")).rows(1)


def test_each_kind_of_database_has_its_text(monkeypatch):
    kit, query = complete_kit(), KnownQuery(_of_kit)
    query.rows(kit.pk)
    monkeypatch.setattr(connection, "vendor", "another")
    assert query.rows(kit.pk) == list(_of_kit(kit.pk))
    assert len(query._texts) == 2
