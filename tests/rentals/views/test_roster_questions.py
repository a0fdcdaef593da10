"""What of a roster is asked is answered in its preview, and nothing is taken in silence."""

import pytest
from django.test import Client
from django.urls import reverse

from rentals.models import RosterDraft, Student
from tests.factories import CourseRunFactory, StudentFactory

from .test_roster import decide, send, text_of

pytestmark = pytest.mark.django_db

HEADS = b"Name,E-mail,Street,City,Postcode,Country\n"


def test_a_comma_without_quotation_marks_is_answered_in_the_preview(signed_in: Client) -> None:
    torn = HEADS + b"Ada Test,ada@x.example,Lane 1, Apt 1,Rosinburg,12345,DE\n"
    shown = text_of(send(signed_in, CourseRunFactory(), torn))
    assert "1 row stands in the way" in shown and "7 cells for 6 heads" in shown
    draft = RosterDraft.objects.get()
    assert "Row 2 still stands in the way" in text_of(decide(signed_in, draft, "import"))
    decide(signed_in, draft, "import", shown="2,", row_2_yes_cells="on")
    ada = Student.objects.get()
    assert (ada.street, ada.city, ada.postcode) == ("Lane 1, Apt 1", "Rosinburg", "12345")


def test_swapped_heads_are_named_once_and_set_right_with_one_press(signed_in: Client) -> None:
    run = CourseRunFactory()
    rows = b"".join(b"ada%d@x.example,Ada Test,Lane 1\n" % n for n in range(30))
    shown = text_of(send(signed_in, run, b"Name,E-mail,Street\n" + rows))
    assert "Which column is what?" in shown
    assert shown.count("does not look like name") == 1
    draft = RosterDraft.objects.get()
    url = reverse("rentals:roster_columns", args=[run.pk, draft.pk])
    assert '<option value="email" selected>' in shown
    answer = {"column_0": "email", "column_1": "name", "column_2": "street"}
    assert "30 students to enrol" in text_of(signed_in.post(url, answer, follow=True))
    as_they_are = {"column_0": "name", "column_1": "email", "column_2": "street"}
    assert "30 rows stand in the way" in text_of(signed_in.post(url, as_they_are, follow=True))


def test_the_letters_of_a_file_are_chosen_by_its_names(signed_in: Client) -> None:
    run = CourseRunFactory()
    names = "Name,E-mail\nÇağrı Yıldız,c@x.example\n"
    shown = text_of(send(signed_in, run, names.encode("cp1254")))
    assert "Are the letters right?" in shown
    assert "Çaðrý Yýldýz" in shown and "Çağrı Yıldız" in shown
    draft = RosterDraft.objects.get()
    url = reverse("rentals:roster_letters", args=[run.pk, draft.pk])
    assert "Choose the reading in which the names" in text_of(
        signed_in.post(url, {"letters": "rot13"})
    )
    shown = text_of(signed_in.post(url, {"letters": "cp1254"}, follow=True))
    assert "1 student to enrol" in shown and "Turkish (Windows)" in shown
    draft.refresh_from_db()
    decide(signed_in, draft, "import")
    assert Student.objects.get().name == "Çağrı Yıldız"


def test_one_address_of_several_students_is_answered_for_each_or_for_all(
    signed_in: Client,
) -> None:
    StudentFactory(name="Zoe", email="z@x.example", street="Lane 9", postcode="12345")
    rows = (
        b"Ada,a@x.example,Lane 9,Rosinburg,12345,DE\n"
        b"Bea,b@x.example,Lane 9,Rosinburg,12345,DE\n"
        b"Cai,z@x.example,,,,\n"
    )
    run = CourseRunFactory()
    shown = text_of(send(signed_in, run, HEADS + rows))
    assert "Zoe (on file) has the same postal address" in shown
    assert "this e-mail address belongs to Zoe" in shown
    draft = RosterDraft.objects.get()
    assert "Yes to all 2" in shown
    shown = text_of(decide(signed_in, draft, "answer_postal"))
    assert "1 row stands in the way" in shown
    decide(signed_in, draft, "import", shown="4,", row_4_record="keep")
    assert run.enrolments.count() == 3 and Student.objects.get(email="z@x.example").name == "Zoe"
