"""Looking things up by what is typed: words that begin names, serials, codes, numbers."""

import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.erase import erase
from rentals.actions.runs import save_student
from rentals.models import Enrolment, Loan, Part, SearchWord, Student, keep_words
from rentals.plain_words import joined_word, plain_words
from rentals.selectors.kits import kits_listed
from rentals.selectors.packing import parcels_listed
from rentals.selectors.returns import loans_out
from rentals.selectors.search import (
    is_moving,
    kits_by_code,
    loans_by_tracking,
    loans_found,
    loans_numbers,
    may_be_printed,
    parts_found,
    parts_with_serial,
    runs_found,
    students_found,
    students_numbers,
)
from tests.factories import CourseRunFactory, StudentFactory, complete_kit, packed_loan

pytestmark = pytest.mark.django_db


def test_words_lose_case_accents_and_marks():
    words = ["zoe", "d", "arc", "bell", "strasse", "strasse"]
    assert plain_words("Zoë d'Arc-Bell, STRASSE/Straße") == words
    assert plain_words("山田 太郎") == ["山田", "太郎"]
    assert plain_words(" \x00-_.%") == []
    assert joined_word(" AB-12 / 3 ") == "ab123"


@pytest.mark.parametrize(
    "typed", ["zoe", "ZOË", "arc zo", "bell d", "z.bell@post", "grünstadt", "grun", "Bell, Zoë"]
)
def test_a_student_is_found_by_the_beginnings_of_words(typed: str):
    student = StudentFactory(name="Zoë d'Arc-Bell", email="z.bell@post.example", city="Grünstadt")
    StudentFactory(name="Bela Arden", email="ba@elsewhere.example", city="Town")
    assert list(students_found(typed)) == [student]


@pytest.mark.parametrize("typed", ["", " ", "%", "_", "ell", "zoe arden", "zoex", "\U0010ffff"])
def test_nobody_is_found_by_what_no_word_begins_with(typed: str):
    StudentFactory(name="Zoë Bell", email="zoe@post.example", city="Town")
    StudentFactory(name="Bela Arden", email="ba@elsewhere.example", city="Town")
    assert not students_found(typed).exists()


def test_words_follow_every_way_to_write():
    student = StudentFactory(name="Ann Bell", email="a@post.example", city="Town")
    student.name = "Ann Carr"
    save_student(student)
    assert not students_found("bell").exists() and students_found("carr").exists()
    Student.objects.filter(pk=student.pk).update(name="Ann Dorn")
    assert not students_found("carr").exists() and students_found("dorn").exists()
    student.name = "Ann Egg"
    Student.objects.bulk_update([student], ["name"])
    assert students_found("egg").exists() and not students_found("dorn").exists()
    Student.objects.bulk_create([Student(name="Fay Egg", email="f@post.example")])
    assert students_found("egg").count() == 2
    student.delete()
    assert SearchWord.objects.filter(word="ann").count() == 0


def test_a_column_that_is_not_searched_leaves_the_words_alone(django_assert_num_queries):
    student = StudentFactory()
    student.language = "fr"
    with django_assert_num_queries(1):
        student.save(update_fields=["language"])


def test_words_that_were_lost_are_written_anew():
    student = StudentFactory(name="Ann Bell")
    SearchWord.objects.all().delete()
    keep_words(Student, [student.pk])
    assert students_found("bell").get() == student


def test_an_erased_student_is_found_by_no_word_of_theirs(owner):
    student = StudentFactory(name="Zelda Quire", email="zq@post.example", city="Quarrytown")
    StudentFactory(name="Zelda Marsh", email="zm@post.example", city="Town")
    erase(student, actor=owner)
    assert not SearchWord.objects.filter(student=student).exists()
    assert not SearchWord.objects.filter(word__in=["quire", "quarrytown", "zq"]).exists()
    assert students_found("zelda").get().name == "Zelda Marsh"


def test_a_number_that_is_taken_out_is_found_no_more():
    loan = packed_loan()
    Loan.objects.filter(pk=loan.pk).update(tracking_number="QR77")
    assert loans_by_tracking("qr 77").get() == loan
    Loan.objects.filter(pk=loan.pk).update(tracking_number="")
    assert not SearchWord.objects.filter(loan=loan).exists()


def test_runs_parts_and_loans():
    run = CourseRunFactory(name="Autumn 2031, evening")
    assert runs_found("2031 aut").get() == run
    kit = complete_kit()
    part = kit.parts.get(kind="amplifier")
    Part.objects.filter(pk=part.pk).update(serial="AX-12/7")
    for typed in ("ax12", "AX-12", "12", part.code, part.code.lower(), part.code[:4]):
        assert part in parts_found(typed), typed
    assert parts_with_serial(" ax-12/7 ").get() == part
    assert not parts_with_serial("ax127").exists()
    loan = packed_loan()
    Loan.objects.filter(pk=loan.pk).update(return_tracking_number="1Z 999-AA1")
    assert loans_by_tracking("1z999aa1").get() == loan
    assert Loan.objects.filter(is_moving("1z99")).get() == loan
    assert not loans_by_tracking("1z999").exists() and not loans_by_tracking("").exists()
    assert list(loans_found(loan.kit.code)) == [loan]
    assert loan in loans_found(loan.enrolment.student.name)
    assert loan in loans_found(loan.enrolment.run.name)


def test_kits_by_their_code_with_or_without_letter_and_zeros():
    kit = complete_kit()
    number = int(kit.code[1:-1])
    for typed in (
        kit.code,
        kit.code.lower(),
        kit.code[:4],
        kit.code[1:-1],
        str(number),
        f"{kit.code[0]} {kit.code[1:]}",
    ):
        assert kit in kits_by_code(typed), typed
    for typed in ("", "x", "%", f"{number}{number}7"):
        assert not kits_by_code(typed).exists(), typed


TYPED = ("ann", "ANNE", "bell", "zoë", "ZOË", "strasse", "Straße", "山", "k", "%", "x" * 90)


@pytest.fixture
def packed() -> list[Loan]:
    """Three parcels: of students with these names, one of a run with a name of its own."""
    loans = [packed_loan() for _ in range(3)]
    for loan, name in zip(loans, ("Zoë Bell", "Ann Straße", "山田 太郎"), strict=True):
        Student.objects.filter(pk=loan.enrolment.student_id).update(name=name)
    Enrolment.objects.filter(pk=loans[2].enrolment_id).update(
        run=CourseRunFactory(name="Bell weeks")
    )
    return loans


def test_one_word_worded_once_finds_what_a_search_finds_that_is_built_anew(packed):
    found = set()
    for typed in TYPED:
        now = set(Loan.objects.filter(pk__in=loans_numbers(typed)))
        assert now == set(Loan.objects.filter(pk__in=loans_numbers.__wrapped__(typed))), typed
        found |= now
    assert found == set(packed)


def test_lists_of_loans_of_now_find_those_that_a_search_of_all_finds(packed):
    found = []
    for typed in (*TYPED, "ann str", packed[0].kit.code):
        of_all = set(loans_found(typed))
        assert set(parcels_listed(typed)) == of_all, typed
        assert set(kits_listed(typed)) >= {loan.kit for loan in of_all}, typed
        found += of_all
    assert len(found) > 9
    for loan in packed:
        dispatch(loan.kit)
    Loan.objects.filter(pk=packed[0].pk).update(tracking_number="annex")
    for typed in (*TYPED, "ann str", packed[0].kit.code):
        numbered = {packed[0]} if typed in ("ann", "ANNE") else set()
        assert set(loans_out(typed)) >= set(loans_found(typed)), typed
        assert set(loans_out(typed)) - set(loans_found(typed)) <= numbered, typed
        assert not parcels_listed(typed).exists()
    assert packed[0] in loans_out("ann")


def test_students_by_one_word_are_those_of_a_search_built_anew():
    for name in ("Zoë Bell", "Ann Straße", "山田 太郎"):
        StudentFactory(name=name)
    for typed in ("zo", "BELL", "strasse", "山田", "nobody"):
        students = Student.objects.filter(pk__in=students_numbers(typed))
        anew = Student.objects.filter(pk__in=students_numbers.__wrapped__(typed))
        assert set(students) == set(anew) and len(students) == (typed != "nobody")


def test_a_text_without_digits_may_be_printed_where_a_part_or_parcel_bears_it():
    loan = packed_loan()
    StudentFactory(name="Annex Bell")
    assert may_be_printed("12") and may_be_printed("") and not may_be_printed("annex")
    Loan.objects.filter(pk=loan.pk).update(return_tracking_number="AN-NEX")
    assert may_be_printed("annex") and not may_be_printed("bell")
    Part.objects.filter(pk=loan.kit.parts.first().pk).update(serial="Bell")
    assert may_be_printed("BELL")
