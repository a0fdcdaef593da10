"""Looking things up by what is typed, through indexes: words that begin names, codes, numbers."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.db import connection
from django.db.models import Q, QuerySet, Value
from django.db.models.expressions import RawSQL
from django.db.models.functions import Lower
from django.db.models.lookups import Exact

from rentals.known_query import A_TEXT, KnownQuery, KnownSearch
from rentals.models import CourseRun, Kit, KitType, Loan, Part, SearchWord, Student
from rentals.plain_words import joined_word, plain_words

_LAST_CHARACTER = "\U0010ffff"

Numbers = QuerySet[Any] | RawSQL
"""The numbers of rows, to be looked for by ``pk__in``."""


def worded_once(find: Callable[[str], QuerySet[Any]]) -> Callable[[str], Numbers]:
    """Numbers found by what is typed. For one word, as nearly always, the query is put into words
    once; digits are looked for in ways of their own.
    """
    known = KnownSearch(find)

    @wraps(find)
    def numbers(typed: str) -> Numbers:
        words = plain_words(typed)
        return known.of(words[0]) if len(words) == 1 and words[0].isalpha() else find(typed)

    return numbers


def begins(column: str, text: str) -> Q:
    """Rows in which a column begins with a text, as its letters are; an index on it is used."""
    if connection.vendor == "sqlite":
        return Q(**{f"{column}__gte": text, f"{column}__lt": text + _LAST_CHARACTER})
    return Q(**{f"{column}__startswith": text})


def but_for_case(column: str, text: str) -> Exact:
    """Rows whose column is a text, whatever its case; an index on its small letters is used."""
    return Exact(Lower(column), Lower(Value(text)))


def students_found(typed: str) -> QuerySet[Student]:
    """Students whose name, e-mail address and town hold words that begin as the typed ones do."""
    return Student.objects.filter(pk__in=students_numbers(typed))


@worded_once
def students_numbers(typed: str) -> QuerySet[Any]:
    """The same students by their numbers alone."""
    return _numbers("student", typed)


def runs_found(typed: str) -> QuerySet[CourseRun]:
    """Runs by the words of their name."""
    return CourseRun.objects.filter(pk__in=_runs_numbers(typed))


@worded_once
def _runs_numbers(typed: str) -> QuerySet[Any]:
    return _numbers("run", typed)


def parts_found(typed: str) -> QuerySet[Part]:
    """Parts by their serial, or by the code on their label."""
    by_code = Part.objects.filter(_code_begins(typed))
    by_serial = Part.objects.filter(pk__in=_numbers("part", typed))
    return Part.objects.filter(pk__in=together(by_serial, by_code))


def parts_with_serial(serial: str) -> QuerySet[Part]:
    """Parts with this serial, whatever its case."""
    parts = Part.objects.filter(serial__iexact=serial.strip())
    word = joined_word(serial)
    if not word:
        return parts
    alike = SearchWord.objects.filter(word=word, part__isnull=False)
    return parts.filter(pk__in=alike.order_by().values("part"))


def may_be_printed(typed: str) -> bool:
    """Whether a parcel's number or a part's serial may be this text. Looked up only where it has
    no digit, as names have none: one query then instead of those two.
    """
    word = joined_word(typed)
    if not word.isalpha():
        return True
    return bool(_PRINTED.rows(word))


def _printed(word: str) -> QuerySet[SearchWord, Any]:
    printed = Q(part__isnull=False) | Q(loan__isnull=False)
    return SearchWord.objects.filter(printed, word=word).order_by().values_list("pk")[:1]


_PRINTED = KnownQuery(_printed, A_TEXT)


def kits_by_code(typed: str) -> QuerySet[Kit]:
    """Kits whose code begins as typed; its letter, and zeros before the number, may be left out."""
    return Kit.objects.filter(_code_begins(typed, "K"))


def kit_types_named(typed: str) -> QuerySet[KitType]:
    """Kit types with the typed text in their name; there are few of them."""
    return KitType.objects.filter(name__icontains=typed)


def loans_found(typed: str) -> QuerySet[Loan]:
    """Loans by the code of their kit, their student or their run."""
    return Loan.objects.filter(pk__in=loans_numbers(typed))


@worded_once
def loans_numbers(typed: str) -> QuerySet[Any]:
    """The same loans by their numbers alone, for ``loan__in``."""
    of_student = Loan.objects.filter(enrolment__student__in=students_numbers(typed))
    of_run = Loan.objects.filter(enrolment__run__in=_numbers("run", typed))
    return together(of_student, of_run, Loan.objects.filter(kit__in=kits_by_code(typed)))


def is_of_people(typed: str) -> Q:
    """What holds for a loan whose student or run is meant. To be asked of a few loans, found by
    their stage: it is looked up for each of them, however many others fit.
    """
    of_student = Q(enrolment__student__in=students_numbers(typed))
    return of_student | Q(enrolment__run__in=_numbers("run", typed))


def is_of_loan(typed: str) -> Q:
    """The same for one whose kit's code may be meant too."""
    return is_of_people(typed) | Q(kit__in=kits_by_code(typed))


def is_moving(typed: str) -> Q:
    """The same for one that may be meant by the number of one of its parcels too."""
    return is_of_loan(typed) | Q(pk__in=_numbers("loan", typed))


def loans_by_tracking(number: str) -> QuerySet[Loan]:
    """Loans one of whose parcels has this number, however it is spaced."""
    words = SearchWord.objects.filter(word=joined_word(number), loan__isnull=False)
    return Loan.objects.filter(pk__in=words.order_by().values("loan"))


def together(first: QuerySet[Any], *others: QuerySet[Any]) -> QuerySet[Any]:
    """The numbers of all rows that one of these finds, for ``pk__in``, some of them twice. Each is
    looked up by itself: no index serves one condition over several tables.
    """
    numbers = [rows.order_by().values("pk") for rows in (first, *others)]
    return numbers[0].union(*numbers[1:], all=True)


def _numbers(column: str, typed: str) -> QuerySet[Any]:
    """Numbers of what a column of the words leads to, where for each of the typed words there is
    one that begins so.
    """
    words = sorted(plain_words(typed), key=len, reverse=True)
    of_kind = SearchWord.objects.filter(**{f"{column}__isnull": False}).order_by().values(column)
    if not words:
        return of_kind.none()
    found = of_kind.filter(begins("word", words[0]))
    for word in words[1:]:
        found = found.filter(**{f"{column}__in": of_kind.filter(begins("word", word))})
    return found


def _code_begins(typed: str, letter: str = "") -> Q:
    code = "".join(plain_words(typed)).upper()
    if not code:
        return Q(pk__in=[])
    if not code.isdecimal():
        return begins("code", code)
    wanted = Q()
    for prefix in [letter] if letter else ["P", "L"]:
        wanted |= begins("code", f"{prefix}{code}") | begins("code", f"{prefix}{int(code):04d}")
    return wanted
