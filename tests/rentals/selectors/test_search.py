"""Looking things up by what is typed: words that begin names, serials, codes, numbers."""

import pytest

from rentals.actions.erase import erase
from rentals.actions.runs import save_student
from rentals.models import Loan, Part, SearchWord, Student, keep_words
from rentals.plain_words import joined_word, plain_words
from rentals.selectors.search import (
    kits_by_code,
    loans_by_tracking,
    loans_found,
    loans_moving,
    parts_found,
    parts_with_serial,
    runs_found,
    students_found,
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
    assert loan.pk in {pk for (pk,) in loans_moving("1z99").values_list("pk")}
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
