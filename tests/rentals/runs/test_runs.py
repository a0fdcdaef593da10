"""Course runs, who is on them, and the assignment of kits."""

import uuid
from datetime import date, datetime, timedelta

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive
from rentals.actions.runs import assign_all, save_run, withdraw
from rentals.errors import Refused
from rentals.models import CourseRun, Enrolment, Loan, LoanStage, Student
from rentals.planning.assignment import FreeKit, in_order, propose
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    KitTypeFactory,
    StudentFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
)

pytestmark = pytest.mark.django_db


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


def form_of(run: CourseRun, **changes: object) -> dict[str, object]:
    names = ("name", "starts_on", "ends_on", "post_by", "return_by", "deposit", "note")
    values = {name: getattr(run, name) for name in names}
    return {**values, "kit_type": run.kit_type_id, "form_key": str(uuid.uuid4()), **changes}


def test_cleared_kits_come_first_then_the_longest_rest() -> None:
    day = datetime(2026, 5, 1, tzinfo=timezone.get_current_timezone())
    kits = [
        FreeKit("K3", False, day - timedelta(days=90)),
        FreeKit("K2", True, day),
        FreeKit("K1", True, day - timedelta(days=30)),
        FreeKit("K9", True, None),
        FreeKit("K8", True, None),
    ]
    assert [kit.code for kit in in_order(kits)] == ["K8", "K9", "K1", "K2", "K3"]
    proposals = propose([7, 8, 9, 10, 11, 12], kits)
    assert [p.kit.code if p.kit else None for p in proposals] == [
        "K8",
        "K9",
        "K1",
        "K2",
        "K3",
        None,
    ]


def test_a_run_is_planned_and_changed(signed_in: Client) -> None:
    plan = form_of(CourseRunFactory.build(kit_type=KitTypeFactory()))
    after = signed_in.post(reverse("rentals:run_new"), plan, follow=True)
    run = CourseRun.objects.get()
    assert after.redirect_chain[-1][0] == run.get_absolute_url()
    signed_in.post(reverse("rentals:run_edit", args=[run.pk]), form_of(run, name="Spring"))
    run.refresh_from_db()
    assert run.name == "Spring"


def test_days_out_of_order_are_said_beside_their_fields_and_nothing_is_lost(
    signed_in: Client,
) -> None:
    run = CourseRunFactory()
    wrong = {
        "ends_on": run.starts_on - timedelta(days=1),
        "return_by": run.post_by - timedelta(days=1),
        "note": "Kept",
    }
    response = signed_in.post(reverse("rentals:run_edit", args=[run.pk]), form_of(run, **wrong))
    shown = text_of(response)
    assert response.status_code == 422
    assert 'id="id_ends_on_error"' in shown and 'id="id_return_by_error"' in shown
    assert "The run ends before it starts" in shown and "due back before they are posted" in shown
    assert "Kept" in shown and "Constraint" not in shown


def test_a_name_twice_is_refused(signed_in: Client) -> None:
    CourseRunFactory(name="Spring")
    other = CourseRunFactory()
    shown = text_of(
        signed_in.post(reverse("rentals:run_edit", args=[other.pk]), form_of(other, name="spring"))
    )
    assert "There is a run called spring already" in shown


def test_new_days_move_assigned_loans_that_follow_the_run_only() -> None:
    loan, packed = assigned_loan(), packed_loan()
    run = loan.enrolment.run
    own = assigned_loan(complete_kit(run.kit_type), EnrolmentFactory(run=run))
    Loan.objects.filter(pk=own.pk).update(due_on=run.return_by + timedelta(days=3))
    run.return_by += timedelta(days=7)
    save_run(run)
    loan.refresh_from_db()
    own.refresh_from_db()
    assert loan.due_on == run.return_by
    assert own.due_on == run.return_by - timedelta(days=4)
    with pytest.raises(Refused, match="another type"):
        other = packed.enrolment.run
        other.kit_type = KitTypeFactory()
        save_run(other)


def test_the_database_refuses_a_run_that_ends_before_it_starts() -> None:
    run = CourseRunFactory()
    with pytest.raises(IntegrityError), transaction.atomic():
        CourseRun.objects.filter(pk=run.pk).update(ends_on=run.starts_on - timedelta(days=1))


def test_one_click_assigns_what_is_proposed(signed_in: Client) -> None:
    run = CourseRunFactory()
    students = [EnrolmentFactory(run=run) for _ in range(3)]
    uncleared = complete_kit(run.kit_type, cleared=False)
    cleared = [complete_kit(run.kit_type) for _ in range(2)]
    url = reverse("rentals:run_assign", args=[run.pk])
    shown = signed_in.get(url)
    fields = {field.name: field.value() for field in shown.context["form"]}
    assert list(fields.values()) == [cleared[0].code, cleared[1].code, uncleared.code]
    assert "not cleared" in text_of(shown) and "Assign 3 kits" in text_of(shown)
    after = signed_in.post(url, {**fields, "form_key": str(uuid.uuid4())}, follow=True)
    assert after.redirect_chain[-1][0] == run.get_absolute_url()
    assert "3 kits assigned; 1 of them must pass the bench before packing." in text_of(after)
    assert text_of(after).count("not cleared") == 1
    assert Loan.objects.filter(stage=LoanStage.ASSIGNED, enrolment__in=students).count() == 3


def test_a_proposal_can_be_changed_and_emptied(signed_in: Client) -> None:
    run = CourseRunFactory()
    first, second = EnrolmentFactory(run=run), EnrolmentFactory(run=run)
    kit, _ = complete_kit(run.kit_type), complete_kit(run.kit_type)
    url = reverse("rentals:run_assign", args=[run.pk])
    signed_in.post(url, {f"kit_{first.pk}": "", f"kit_{second.pk}": f" {kit.code.lower()} "})
    assert list(Loan.objects.values_list("enrolment", "kit__code")) == [(second.pk, kit.code)]


def test_wrong_codes_are_said_beside_their_student_and_nobody_gets_a_kit(signed_in: Client) -> None:
    run = CourseRunFactory()
    e = [EnrolmentFactory(run=run) for _ in range(5)]
    good, away = complete_kit(run.kit_type), packed_loan().kit
    other = complete_kit()
    codes = [good.code, good.code, "K0014X", away.code, other.code]
    data = {f"kit_{enrolment.pk}": code for enrolment, code in zip(e, codes, strict=True)}
    shown = text_of(signed_in.post(reverse("rentals:run_assign", args=[run.pk]), data))
    for said in (
        "is given to",
        "does not hold together",
        "is packed and cannot be assigned",
        "needs another kit type",
    ):
        assert said in shown
    assert not Loan.objects.filter(enrolment__run=run).exists()
    assert good.code in shown


def test_assigning_is_all_or_none() -> None:
    run = CourseRunFactory()
    kit = complete_kit(run.kit_type)
    pairs = [(EnrolmentFactory(run=run), kit), (EnrolmentFactory(run=run), kit)]
    with pytest.raises(Refused) as refusal:
        assign_all(pairs)
    assert refusal.value.field == f"kit_{pairs[1][0].pk}"
    assert not Loan.objects.exists()


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
        url, {"name": "Ada New", "email": ada.email, "city": "New Town", "country": "AT"}
    )
    ada.refresh_from_db()
    assert (ada.name, ada.city, ada.country.code) == ("Ada New", "New Town", "AT")
    shown = text_of(signed_in.post(url, {"name": "Ada", "email": bea.email.upper()}))
    assert f"{bea.name} has this e-mail address already" in shown
    assert Student.objects.get(pk=ada.pk).name == "Ada New"


def test_the_run_page_says_who_has_what_and_what_is_next(signed_in: Client) -> None:
    run = CourseRunFactory()
    kits = [complete_kit(run.kit_type) for _ in range(3)]
    assigned_loan(kits[0], EnrolmentFactory(run=run))
    packed_loan(kits[1], EnrolmentFactory(run=run))
    away = packed_loan(kits[2], EnrolmentFactory(run=run))
    dispatch(away.kit)
    EnrolmentFactory(run=run)
    Loan.objects.filter(pk=away.pk).update(post_by=date(2020, 1, 1), due_on=date(2020, 2, 1))
    page = signed_in.get(run.get_absolute_url())
    assert {row.act for row in page.context["rows"]} == {"Pack", "Dispatch", "Chase", "Assign"}
    assert "4 students, 1 without a kit, 1 to pack, 1 to dispatch, 1 away (1 overdue)." in text_of(
        page
    )
    found = signed_in.get(run.get_absolute_url(), {"q": away.kit.code})
    assert [row.loan for row in found.context["rows"]] == [away]


def test_a_run_whose_kits_come_back_leads_to_the_returns(signed_in: Client) -> None:
    loan = packed_loan()
    run = loan.enrolment.run
    dispatch(loan.kit)
    assert 'class="act"' not in signed_in.get(run.get_absolute_url()).content.decode()
    arrive(loan.kit)
    shown = text_of(signed_in.get(run.get_absolute_url()))
    assert "1 back to check" in shown and "Check returns" in shown


def test_all_packing_lists_come_as_one_pdf(signed_in: Client) -> None:
    loan = assigned_loan()
    run = loan.enrolment.run
    url = reverse("rentals:run_packing_lists", args=[run.pk])
    answer = signed_in.get(url)
    assert answer["Content-Type"] == "application/pdf" and answer.content.startswith(b"%PDF")
    empty = signed_in.get(
        reverse("rentals:run_packing_lists", args=[CourseRunFactory().pk]), follow=True
    )
    assert "no packing list to print" in text_of(empty)


def many(rows: int) -> CourseRun:
    run = CourseRunFactory()
    for _ in range(rows):
        EnrolmentFactory(run=run)
    for enrolment in list(run.enrolments.all())[: rows // 2]:
        assigned_loan(complete_kit(run.kit_type), enrolment)
    for _ in range(rows // 2):
        complete_kit(run.kit_type)
    return run


@pytest.mark.parametrize("rows", [2, 60])
def test_pages_take_the_same_few_queries_however_long(
    signed_in, django_assert_max_num_queries, rows
) -> None:
    run = many(rows)
    for _ in range(rows):
        CourseRunFactory(kit_type=run.kit_type)
    for url, most in (
        (run.get_absolute_url(), 16),
        (reverse("rentals:run_assign", args=[run.pk]), 9),
        (reverse("rentals:runs"), 7),
    ):
        with django_assert_max_num_queries(most):
            assert signed_in.get(url).status_code == 200


@pytest.mark.parametrize("rows", [2, 60])
def test_a_students_page_takes_the_same_few_queries(
    signed_in, django_assert_max_num_queries, rows
) -> None:
    student = StudentFactory()
    kit_type = KitTypeFactory()
    for _ in range(rows):
        EnrolmentFactory(student=student, run__kit_type=kit_type)
    with django_assert_max_num_queries(9):
        assert signed_in.get(reverse("rentals:student", args=[student.pk])).status_code == 200


@pytest.mark.parametrize("name", ["runs", "run_new"])
def test_strangers_are_sent_to_the_sign_in(client: Client, owner, name: str) -> None:
    assert "login" in client.get(reverse(f"rentals:{name}")).url


def test_unknown_addresses_are_not_found(signed_in: Client) -> None:
    for name in ("run", "run_edit", "run_assign", "enrol", "student", "withdraw", "run_import"):
        assert signed_in.get(reverse(f"rentals:{name}", args=[99999])).status_code == 404
