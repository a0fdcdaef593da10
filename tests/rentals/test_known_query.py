"""Queries whose text is worked out once answer as those that are built each time."""

from threading import Thread

import pytest
from django.db import connection, connections
from django.db.models import Exists

from rentals import known_query
from rentals.known_query import A_NUMBER, A_TEXT, KnownQuery, KnownRows, KnownSearch
from rentals.models import Kit, Loan, Part
from tests.factories import assigned_loan, complete_kit, packed_loan

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


def _with_people(loans):
    people = loans.select_related("kit", "enrolment__student", "return_check")
    shown = ("stage", "due_on", "kit__code", "enrolment__student__name", "return_check__loan")
    return people.only(*shown)


def test_rows_by_their_numbers_are_those_that_django_gives(django_assert_num_queries):
    built = []
    known = KnownRows(lambda: built.append(1) or _with_people(Loan.objects.order_by()))
    loans = [assigned_loan(), packed_loan(), assigned_loan()]
    numbers = [loans[2].pk, loans[0].pk]
    for given in (numbers, numbers[::-1]):
        usual = {row.pk: row for row in _with_people(Loan.objects.filter(pk__in=given))}
        with django_assert_num_queries(1):
            rows = known.of(given)
            assert [row.pk for row in rows] == given
            for row in rows:
                assert (row.stage, row.due_on) == (usual[row.pk].stage, usual[row.pk].due_on)
                assert (row.kit.code, row.kit) == (usual[row.pk].kit.code, usual[row.pk].kit)
                assert row.enrolment.student.name and not hasattr(row, "return_check")
                assert row.get_deferred_fields() == usual[row.pk].get_deferred_fields()
    assert built == [1]


def test_a_row_that_was_read_so_can_be_read_on_and_saved():
    kit = complete_kit()
    (row,) = KnownRows(lambda: Kit.objects.only("code").order_by()).of([kit.pk])
    assert (row.state, row.kit_type) == (kit.state, kit.kit_type)
    row.note = "Its bag is torn."
    row.save(update_fields=["note"])
    row.refresh_from_db()
    assert Kit.objects.get(pk=kit.pk).note == row.note == "Its bag is torn."


def test_rows_that_are_gone_are_left_out_and_none_are_asked_for_in_no_query(
    django_assert_num_queries,
):
    kit = complete_kit()
    known = KnownRows(lambda: Kit.objects.order_by())
    assert known.of([kit.pk + 1, kit.pk]) == [kit]
    with django_assert_num_queries(0):
        assert known.of([]) == known.rows([]) == []


def test_rows_may_be_plain_and_of_another_number():
    first, second = complete_kit(), complete_kit()
    known = KnownRows(lambda: Part.objects.order_by("-code").values_list("kit", "code"), by="kit")
    wanted = Part.objects.filter(kit__in=[first, second]).order_by("-code")
    assert known.rows([first.pk, second.pk]) == list(wanted.values_list("kit", "code")) != []
    assert known.rows([second.pk]) == list(wanted.filter(kit=second).values_list("kit", "code"))


def test_a_model_with_a_way_of_its_own_is_made_its_own_way(monkeypatch):
    kit, made = complete_kit(), []

    def from_db(cls, *given):
        made.append(cls)
        return super(Kit, cls).from_db(*given)

    monkeypatch.setattr(Kit, "from_db", classmethod(from_db))
    assert KnownRows(lambda: Kit.objects.order_by()).of([kit.pk]) == [kit]
    assert made == [Kit]


def test_no_more_queries_are_kept_than_are_of_use(monkeypatch):
    monkeypatch.setattr(known_query, "_MOST_KEPT", 2)
    own = vars(connections[connection.alias])
    monkeypatch.delitem(own, "kitdesk_known_rows", raising=False)
    kits = [complete_kit() for _ in range(3)]
    known = KnownRows(lambda: Kit.objects.order_by("pk"))
    for count in (1, 2, 3, 1):
        assert known.rows([kit.pk for kit in kits[:count]]) == kits[:count]
        assert len(own["kitdesk_known_rows"]) <= 2


def test_each_thread_has_its_own_queries_as_it_has_its_own_connection():
    kit, kept = complete_kit(), []
    assert KnownRows(lambda: Kit.objects.order_by()).of([kit.pk]) == [kit]

    def look():
        kept.append(vars(connections[connection.alias]).get("kitdesk_known_rows", {}))

    thread = Thread(target=look)
    thread.start()
    thread.join()
    look()
    elsewhere, here = kept
    assert here and not elsewhere
