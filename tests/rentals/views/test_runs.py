"""Course runs: the list, one run, its form."""

import uuid
from datetime import date, timedelta

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive
from rentals.models import CourseRun, ElectrodeBatch, Loan, Practice
from rentals.selectors.runs import enrolments_of
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    KitTypeFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
)
from tests.rentals.paper.reading import page_texts

pytestmark = pytest.mark.django_db


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


def form_of(run: CourseRun, **changes: object) -> dict[str, object]:
    names = ("name", "starts_on", "ends_on", "post_by", "return_by", "deposit", "note")
    values = {name: getattr(run, name) for name in names}
    return {**values, "kit_type": run.kit_type_id, "form_key": str(uuid.uuid4()), **changes}


def many(rows: int) -> CourseRun:
    run = CourseRunFactory()
    for _ in range(rows):
        EnrolmentFactory(run=run)
    for enrolment in list(run.enrolments.all())[: rows // 2]:
        assigned_loan(complete_kit(run.kit_type), enrolment)
    for _ in range(rows // 2):
        complete_kit(run.kit_type)
    return run


def test_a_run_is_planned_and_changed(signed_in: Client) -> None:
    plan = form_of(CourseRunFactory.build(kit_type=KitTypeFactory()))
    after = signed_in.post(reverse("rentals:run_new"), plan, follow=True)
    run = CourseRun.objects.get()
    assert after.redirect_chain[-1][0] == run.get_absolute_url()
    signed_in.post(reverse("rentals:run_edit", args=[run.pk]), form_of(run, name="Spring"))
    run.refresh_from_db()
    assert run.name == "Spring"


@pytest.mark.parametrize(
    ("sort", "names"),
    [("", ["Bo", "Cy", "Al"]), ("student", ["Bo", "Cy", "Al"]), ("-student", ["Al", "Cy", "Bo"])],
)
def test_who_has_withdrawn_comes_last(signed_in: Client, sort: str, names: list[str]) -> None:
    run = CourseRunFactory()
    for name, withdrawn_on in (("Cy", None), ("Al", date(2026, 3, 1)), ("Bo", None)):
        EnrolmentFactory(run=run, student__name=name, withdrawn_on=withdrawn_on)
    rows = signed_in.get(run.get_absolute_url(), {"sort": sort}).context["rows"]
    assert [row.enrolment.student.name for row in rows] == names
    if sort != "-student":
        assert [one.student.name for one in enrolments_of(run)] == names


def test_days_left_empty_are_worked_out_and_a_typed_one_stays(signed_in: Client) -> None:
    Practice.objects.create(pk=1, country="DE")
    plan = form_of(CourseRunFactory.build(kit_type=KitTypeFactory()))
    days = {"starts_on": "2026-01-05", "ends_on": "2026-03-27"}
    shown = text_of(signed_in.get(reverse("rentals:run_days"), days))
    assert "30 Dec 2025" in shown and "1 Jan 2026 is a public holiday" in shown
    wrong = text_of(signed_in.get(reverse("rentals:run_days"), days | {"ends_on": "2026-01-02"}))
    assert "30 Dec 2025" in wrong and "Back by" not in wrong
    plan |= days | {"post_by": "", "return_by": ""}
    page = text_of(signed_in.post(reverse("rentals:run_new"), plan, follow=True))
    run = CourseRun.objects.get()
    assert (run.post_by, run.return_by) == (date(2025, 12, 30), date(2026, 4, 2))
    assert run.post_by_rule in page and run.return_by_rule in page
    edit = reverse("rentals:run_edit", args=[run.pk])
    signed_in.post(edit, form_of(run, starts_on="2026-01-12", return_by="2026-04-10"))
    run.refresh_from_db()
    assert (run.post_by, run.return_by) == (date(2026, 1, 7), date(2026, 4, 10))
    assert run.post_by_rule and not run.return_by_rule
    assert '10 Apr 2026,</span> <span class="note">entered' in text_of(
        signed_in.get(run.get_absolute_url())
    )


def test_a_run_says_to_how_many_its_parcels_come_too_late(signed_in: Client) -> None:
    Practice.objects.create(pk=1, country="DE")
    run = CourseRunFactory()
    for country in ("ES", "SE", "DE"):
        EnrolmentFactory(run=run, student__country=country)
    page = text_of(signed_in.get(run.get_absolute_url()))
    assert "to 2 students in 2 countries" in page and 'href="#countries"' in page
    assert "the post takes 6 to Spain and 1 to spare" in page


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


def test_the_database_refuses_a_run_that_ends_before_it_starts() -> None:
    run = CourseRunFactory()
    with pytest.raises(IntegrityError), transaction.atomic():
        CourseRun.objects.filter(pk=run.pk).update(ends_on=run.starts_on - timedelta(days=1))


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
    assert {row.next.act for row in page.context["rows"]} == {"Pack", "Dispatch", "Chase", "Assign"}
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


def test_stock_that_does_not_reach_stands_on_the_run_and_its_pick_sheet(signed_in: Client) -> None:
    loan = assigned_loan()
    run = loan.enrolment.run
    assert "Stock that does not reach" not in text_of(signed_in.get(run.get_absolute_url()))
    EnrolmentFactory(run=run)
    ElectrodeBatch.objects.update(on_hand=40)
    shown = text_of(signed_in.get(run.get_absolute_url()))
    assert "Stock that does not reach" in shown and "48 needed, 40 here" in shown
    printed = signed_in.get(reverse("rentals:run_packing_lists", args=[run.pk]))
    assert "48 needed, 40 here" in page_texts(printed.content)[0]


def test_the_only_kit_type_is_chosen_already_and_one_of_two_is_not(signed_in: Client) -> None:
    address = reverse("rentals:run_new")
    kit_type = KitTypeFactory(contents=False)
    KitTypeFactory(contents=False, active=False)
    assert signed_in.get(address).context["form"]["kit_type"].value() == kit_type.pk
    KitTypeFactory(contents=False)
    assert signed_in.get(address).context["form"]["kit_type"].value() is None


@pytest.mark.parametrize("rows", [2, 12])
def test_pages_take_the_same_few_queries_however_long(
    signed_in, django_assert_max_num_queries, rows
) -> None:
    run = many(rows)
    for _ in range(rows):
        CourseRunFactory(kit_type=run.kit_type)
    for url, most in (
        # One for what was asked for here and is done in the background; one reads the marks of
        # the tables that it was read of, one the run again; two find since when the
        # past that is kept holds.
        (run.get_absolute_url(), 33),
        # Ten of them read what the plan asks: kits, loans, faults, earmarks, days, the past.
        (reverse("rentals:run_assign", args=[run.pk]), 20),
        (reverse("rentals:runs"), 8),
    ):
        with django_assert_max_num_queries(most):
            assert signed_in.get(url).status_code == 200


@pytest.mark.parametrize("name", ["runs", "run_new"])
def test_strangers_are_sent_to_the_sign_in(client: Client, owner, name: str) -> None:
    assert "login" in client.get(reverse(f"rentals:{name}")).url


def test_the_list_of_mistakes_counts_each_of_them(signed_in: Client) -> None:
    run = CourseRunFactory()
    days = {"starts_on": "2027-03-10", "ends_on": "2027-03-01"}
    days |= {"post_by": "2027-03-20", "return_by": "2027-03-05"}
    answer = signed_in.post(reverse("rentals:run_edit", args=[run.pk]), form_of(run, **days))
    sentences = [text for faults in answer.context["form"].errors.values() for text in faults]
    assert len(sentences) > len(answer.context["form"].errors)
    assert f"{len(sentences)} things to mend" in text_of(answer)
