"""Queries whose text is worked out once answer as those that are built each time."""

import pytest
from django.db import connection
from django.db.models import Exists

from rentals.known_query import A_NUMBER, A_TEXT, KnownQuery, KnownSearch
from rentals.models import Kit, Part
from tests.factories import complete_kit

pytestmark = pytest.mark.django_db


def _of_kit(kit: int):
    parts = Part.objects.filter(kit=kit).exclude(kind="charger").order_by("code")
    return parts.values_list("code", "kit")


def _noted(note: str) -> Kit:
    kit = complete_kit()
    Kit.objects.filter(pk=kit.pk).update(note=note)
    kit.refresh_from_db()
    return kit


def test_each_number_has_its_own_rows_and_the_text_is_built_once(django_assert_num_queries):
    kits, built = [complete_kit(), complete_kit()], []
    query = KnownQuery(lambda kit: built.append(kit) or _of_kit(kit), A_NUMBER)
    for kit in kits * 2:
        wanted = list(_of_kit(kit.pk))
        with django_assert_num_queries(1):
            assert query.rows(kit.pk) == wanted != []
    assert len(built) == 1


def test_rows_are_those_of_now():
    kit = complete_kit()
    query = KnownQuery(
        lambda pk: Kit.objects.filter(pk=pk).values_list("note", Exists(_of_kit(pk))), A_NUMBER
    )
    assert query.rows(kit.pk) == [("", True)]
    Kit.objects.filter(pk=kit.pk).update(note="Its bag is torn.")
    assert query.rows(kit.pk) == [("Its bag is torn.", True)]
    assert query.rows(kit.pk + 1) == []


def test_texts_and_numbers_take_their_own_places():
    kit = _noted("Its bag is torn.")
    query = KnownQuery(
        lambda pk, note: Kit.objects.filter(pk=pk, note=note).values_list("code"), A_NUMBER, A_TEXT
    )
    assert query.rows(kit.pk, "Its bag is torn.") == [(kit.code,)]
    assert query.rows(kit.pk, "Its bag is torn") == query.rows(kit.pk + 1, kit.note) == []
    with pytest.raises(ValueError, match="argument"):
        query.rows(kit.pk)


def test_a_query_may_be_asked_with_nothing():
    query = KnownQuery(lambda: Kit.objects.order_by("code").values_list("code"))
    assert query.rows() == []
    kit = complete_kit()
    assert query.rows() == [(kit.code,)]


def test_a_query_that_does_not_ask_for_what_it_is_given_is_refused():
    with pytest.raises(AssertionError, match="does not ask for what it is given"):
        KnownQuery(lambda pk: Kit.objects.values_list("code"), A_NUMBER).rows(1)


@pytest.mark.parametrize("word", ["bag", "straße", "山田", "a'b", "😀"])
def test_a_search_for_a_word_finds_what_the_built_one_finds(word: str):
    kit = _noted(f"{word} and {word.upper()} more")
    _noted("of another kind")

    def build(word: str):
        of_word = Kit.objects.filter(note__startswith=word, note__contains=word.upper())
        return of_word.exclude(note="none").values("pk")

    known = KnownSearch(build)
    for _ in range(2):
        assert list(Kit.objects.filter(pk__in=known.of(word))) == [kit]
    assert not Kit.objects.filter(pk__in=known.of("none")).exists()


def test_each_kind_of_database_has_its_text(monkeypatch):
    kit, query = complete_kit(), KnownQuery(_of_kit, A_NUMBER)
    query.rows(kit.pk)
    monkeypatch.setattr(connection, "vendor", "another")
    assert query.rows(kit.pk) == list(_of_kit(kit.pk))
    assert len(query._texts) == 2
