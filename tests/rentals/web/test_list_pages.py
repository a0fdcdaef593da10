"""Pages of a list of rows, from either end."""

import pytest
from django.core.paginator import Paginator
from django.db import connection
from django.db.models import Count, F
from django.db.models.expressions import RawSQL
from django.test.utils import CaptureQueriesContext

from rentals.models import Enrolment, Student
from rentals.web import list_pages
from rentals.web.list_pages import ListPages, all_numbers_found
from tests.factories import CourseRunFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def students() -> None:
    """Eleven, some of the same name, some without a town, three of them on a run."""
    rows = Student.objects.bulk_create(
        Student(name=f"Ann {number % 4}", email=f"{number}@x.example", city="Town" * (number % 3))
        for number in range(11)
    )
    run = CourseRunFactory()
    Enrolment.objects.bulk_create(Enrolment(run=run, student=row) for row in rows[:3])


ORDERS = [
    Student.objects.order_by("name", "pk"),
    Student.objects.order_by("-name", "-pk"),
    Student.objects.order_by(F("city").asc(nulls_last=True), "-pk"),
    Student.objects.annotate(runs=Count("enrolments")).order_by("-runs", "pk"),
    Student.objects.filter(enrolments__isnull=False).distinct().order_by("pk"),
    Student.objects.prefetch_related("enrolments").all(),
    Student.objects.filter(pk__in=Enrolment.objects.values("student")).order_by("name", "pk"),
    Student.objects.exclude(pk__in=Enrolment.objects.values("student")).order_by("name", "pk"),
    Student.objects.filter(pk__in=Enrolment.objects.filter(pk=0).values("student")),
]


@pytest.mark.parametrize("rows", ORDERS)
@pytest.mark.parametrize("per_page", [1, 3, 4, 11, 50])
@pytest.mark.parametrize("at_once", [2, 500])
def test_every_page_is_that_of_the_plain_way(
    students, monkeypatch, rows, per_page: int, at_once: int
):
    monkeypatch.setattr(list_pages, "FOUND_AT_ONCE", at_once)
    pages, plain = ListPages(rows.all(), per_page), Paginator(rows.all(), per_page)
    assert pages.num_pages == plain.num_pages
    for number in plain.page_range:
        assert list(pages.page(number)) == list(plain.page(number)), number


def test_the_last_page_is_read_from_the_end(students, django_assert_num_queries):
    pages = ListPages(Student.objects.order_by("name", "pk"), 3)
    with django_assert_num_queries(3) as asked:
        assert len(list(pages.get_page(99))) == 2
    numbers = asked.captured_queries[1]["sql"]
    assert "OFFSET" not in numbers and '"rentals_student"."name" DESC' in numbers


def test_rows_that_are_found_are_not_looked_for_again(students, django_assert_num_queries):
    pages = ListPages(Student.objects.filter(name="Ann 1").order_by("pk"), 2)
    with django_assert_num_queries(3) as asked:
        assert [student.name for student in pages.page(1)] == ["Ann 1", "Ann 1"]
    numbers, rows = (query["sql"].partition("WHERE")[2] for query in asked.captured_queries[1:])
    assert "Ann 1" in numbers and "Ann 1" not in rows


def test_what_other_tables_find_is_looked_for_once(students, django_assert_num_queries):
    enrolled = Student.objects.filter(pk__in=Enrolment.objects.values("student"))
    with django_assert_num_queries(2) as asked:
        page = ListPages(enrolled.order_by("pk"), 2).get_page(2)
        assert (len(list(page)), page.paginator.count) == (1, 3)
    assert ["rentals_enrolment" in query["sql"] for query in asked.captured_queries] == [
        True,
        False,
    ]


def test_many_found_rows_are_counted_by_the_database(students, monkeypatch):
    monkeypatch.setattr(list_pages, "FOUND_AT_ONCE", 2)
    enrolled = Student.objects.filter(pk__in=Enrolment.objects.values("student"))
    with CaptureQueriesContext(connection) as asked:
        assert ListPages(enrolled.order_by("pk"), 2).get_page(1).paginator.count == 3
    # The first page is among those that were found, so it is not looked up again.
    assert ["COUNT" in query["sql"] for query in asked.captured_queries] == [False, True, False]


def test_the_numbers_of_all_that_was_found_are_known(students, monkeypatch):
    enrolled = Student.objects.filter(pk__in=Enrolment.objects.values("student")).order_by("pk")
    numbers = list(enrolled.values_list("pk", flat=True))
    by_text = RawSQL("SELECT student_id FROM rentals_enrolment WHERE student_id > %s", [0])
    for rows in (enrolled, Student.objects.filter(pk__in=by_text).order_by("pk")):
        assert all_numbers_found(ListPages(rows, 2).get_page(2)) == numbers
    assert all_numbers_found(ListPages(Student.objects.order_by("pk"), 2).get_page(1)) is None
    assert all_numbers_found(Paginator(enrolled, 2).page(1)) is None
    monkeypatch.setattr(list_pages, "FOUND_AT_ONCE", 2)
    assert all_numbers_found(ListPages(enrolled, 2).get_page(1)) is None


def test_a_wrong_page_is_the_nearest_one(students):
    pages = ListPages(Student.objects.order_by("pk"), 4)
    assert pages.get_page("nonsense").number == 1
    assert pages.get_page("99").number == 3


def test_lists_and_cut_rows_are_paged_as_ever(students):
    assert list(ListPages([1, 2, 3], 2).page(2)) == [3]
    assert len(list(ListPages(Student.objects.order_by("pk")[:5], 2).page(3))) == 1
    names = Student.objects.order_by("pk").values_list("name", flat=True)
    assert list(ListPages(names, 2).page(1)) == ["Ann 0", "Ann 1"]
