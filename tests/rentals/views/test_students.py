"""Students: enrolling, withdrawing, one student's page."""

import uuid

import pytest
from django.test import Client
from django.urls import reverse

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import write_off
from rentals.actions.runs import withdraw
from rentals.models import Enrolment, LoanStage, Student
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    KitTypeFactory,
    StudentFactory,
    assigned_loan,
    packed_loan,
)

pytestmark = pytest.mark.django_db


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


def test_a_student_is_enrolled_by_hand_once(signed_in: Client) -> None:
    run = CourseRunFactory()
    url = reverse("rentals:enrol", args=[run.pk])
    data = {
        "name": "Ada Test",
        "email": "ada@x.example",
        "city": "Town",
        "form_key": str(uuid.uuid4()),
    }
    for _ in range(2):
        signed_in.post(url, data)
    assert run.enrolments.count() == 1
    shown = text_of(
        signed_in.post(url, {**data, "email": "ADA@x.example", "form_key": str(uuid.uuid4())})
    )
    assert "Ada Test is on this run already" in shown
    assert "not an e-mail address" in text_of(signed_in.post(url, {**data, "email": "nonsense"}))


def test_enrolling_a_known_address_fills_only_what_was_empty(signed_in: Client) -> None:
    known = StudentFactory(email="ada@x.example", name="Ada Known", city="Old Town", phone="")
    url = reverse("rentals:enrol", args=[CourseRunFactory().pk])
    signed_in.post(url, {"name": "Ada", "email": "Ada@x.example", "city": "New", "phone": "123"})
    known.refresh_from_db()
    assert (known.name, known.city, known.phone) == ("Ada Known", "Old Town", "123")
    assert Enrolment.objects.get().student == known


def test_withdrawing_frees_an_assigned_kit_but_not_a_packed_one(signed_in: Client) -> None:
    loan = assigned_loan()
    url = reverse("rentals:withdraw", args=[loan.enrolment_id])
    assert f"Kit {loan.kit.code} is free again" in text_of(signed_in.get(url))
    signed_in.post(url, {"form_key": str(uuid.uuid4())})
    loan.refresh_from_db()
    assert loan.stage == LoanStage.CANCELLED
    assert loan.enrolment.__class__.objects.get(pk=loan.enrolment_id).withdrawn_on
    packed = packed_loan()
    url = reverse("rentals:withdraw", args=[packed.enrolment_id])
    assert "is packed" in text_of(signed_in.post(url, follow=True))
    dispatch(packed.kit)
    assert withdraw(packed.enrolment).withdrawn_on
    packed.refresh_from_db()
    assert packed.stage == LoanStage.AWAY


def test_a_students_address_is_changed_and_two_cannot_share_an_e_mail(signed_in: Client) -> None:
    ada, bea = StudentFactory(), StudentFactory()
    url = reverse("rentals:student", args=[ada.pk])
    signed_in.post(
        url,
        {
            "name": "Ada New",
            "email": ada.email,
            "city": "New Town",
            "country": "AT",
            "language": "de-at",
        },
    )
    ada.refresh_from_db()
    assert (ada.name, ada.city, ada.country.code) == ("Ada New", "New Town", "AT")
    assert ada.language == "de-at"
    shown = text_of(signed_in.post(url, {"name": "Ada", "email": bea.email.upper()}))
    assert f"{bea.name} has this e-mail address already" in shown
    assert Student.objects.get(pk=ada.pk).name == "Ada New"


def test_the_page_of_a_student_shows_loans_mails_shortfalls_and_the_note(signed_in: Client) -> None:
    loan = write_off(dispatch(packed_loan().kit).kit, reason="It was stolen.")
    student = loan.enrolment.student
    Student.objects.filter(pk=student.pk).update(note="Rings twice.")
    page = text_of(signed_in.get(reverse("rentals:student", args=[student.pk])))
    assert loan.get_absolute_url() in page
    assert loan.messages.first().subject in page
    assert "Not decided: €427.00. Charged: €0.00." in page
    assert "<p>Rings twice.</p>" in page


def test_students_are_listed_searched_and_linked_from_a_loan(signed_in: Client) -> None:
    loan, other = assigned_loan(), StudentFactory(name="Zoe Idle")
    student = loan.enrolment.student
    link = f'<a href="{student.get_absolute_url()}">{student.name}</a>'
    listed = text_of(signed_in.get(reverse("rentals:students")))
    assert link in listed and other.name in listed
    found = text_of(signed_in.get(reverse("rentals:students"), {"q": "zoe"}))
    assert other.name in found and student.name not in found and "1 of 2 students" in found
    for address in (loan.get_absolute_url(), "/kits/", "/pack/", f"/pack/{loan.kit.code}/"):
        assert link in text_of(signed_in.get(address)), address


def test_students_are_shown_to_nobody_who_is_not_signed_in(client: Client, owner) -> None:
    for address in ("/students/", StudentFactory().get_absolute_url()):
        assert client.get(address).status_code == 302


@pytest.mark.parametrize("rows", [2, 12])
def test_a_students_page_takes_the_same_few_queries(
    signed_in, django_assert_max_num_queries, rows
) -> None:
    student = StudentFactory()
    kit_type = KitTypeFactory()
    for _ in range(rows):
        EnrolmentFactory(student=student, run__kit_type=kit_type)
    with django_assert_max_num_queries(15):
        assert signed_in.get(reverse("rentals:student", args=[student.pk])).status_code == 200


def test_unknown_addresses_are_not_found(signed_in: Client) -> None:
    for name in ("run", "run_edit", "run_assign", "enrol", "student", "withdraw", "run_import"):
        assert signed_in.get(reverse(f"rentals:{name}", args=[99999])).status_code == 404
