"""The Plan page: kits against weeks, and the forms that lend from it."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.earmark import set_aside
from rentals.models import CourseRun, Loan
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    KitTypeFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
)

pytestmark = pytest.mark.django_db
PLAN = "/plan/"
DAY = timedelta(days=1)


def text_of(answer) -> str:
    return " ".join(answer.content.decode().split())


def test_an_empty_desk_says_what_to_do_first(signed_in: Client) -> None:
    assert "There is no kit type yet" in text_of(signed_in.get(PLAN))
    KitTypeFactory()
    page = text_of(signed_in.get(PLAN))
    assert f'<a href="{PLAN}" aria-current="page">Plan</a>' in page
    assert "There is no kit yet" in page and "<svg" not in page.partition("<main")[2]


def test_drawing_and_list_show_the_same_loans_with_their_rules_and_clashes(
    signed_in: Client,
) -> None:
    today = timezone.localdate()
    away = dispatch(packed_loan().kit)
    Loan.objects.filter(pk=away.pk).update(
        post_by=today - 20 * DAY, due_on=today - 2 * DAY, due_on_rule="2 working days after all"
    )
    EnrolmentFactory(run=away.enrolment.run)
    CourseRun.objects.update(post_by=today)
    page = text_of(signed_in.get(PLAN))
    drawing, _, listed = page.partition("</figure>")
    name = away.enrolment.student.name
    assert f'<a href="{away.get_absolute_url()}" aria-label="{name}, with the student:' in drawing
    assert 'class="plan-turn"' in drawing and "2 days overdue</text>" in drawing
    assert "1 kit is late or wanted twice on this page" in drawing
    assert f'<a href="{away.get_absolute_url()}">{name}</a>' in listed
    assert "2 working days after all" in listed and "still away: 2 days overdue." in listed
    assert reverse("rentals:run_assign", args=[away.enrolment.run_id]) in listed
    assert "2 needed at once, 1 kit is in use: 1 lack." in page


def test_type_run_words_state_and_weeks_narrow_the_plan(signed_in: Client) -> None:
    loan, other = assigned_loan(), complete_kit()
    run = loan.enrolment.run

    def shown(**asked: object) -> set[str]:
        return {row.kit.code for row in signed_in.get(PLAN, asked).context["rows"]}

    both, one = {loan.kit.code, other.code}, {loan.kit.code}
    assert shown() == both
    for asked in (
        {"type": loan.kit.kit_type_id},
        {"run": run.pk},
        {"q": loan.enrolment.student.name},
        {"q": loan.kit.code},
        {"show": "taken"},
    ):
        assert shown(**asked) == one, asked
    assert shown(show="free") == {other.code}
    assert shown(show="overdue") == set()
    assert shown(show="free", **{"from": (run.post_by - 400 * DAY).isoformat()}) == both
    window = signed_in.get(PLAN, {"from": "2027-03-10", "weeks": "26"}).context["window"]
    assert (window.start.isoformat(), window.weeks) == ("2027-03-08", 26)
    assert signed_in.get(PLAN, {"from": "nonsense", "weeks": "-3"}).status_code == 200


@pytest.mark.parametrize("kits", [2, 12])
def test_the_page_takes_the_same_queries_however_many_kits(
    signed_in: Client, django_assert_max_num_queries, kits: int
) -> None:
    run = CourseRunFactory()
    for _ in range(kits):
        assigned_loan(complete_kit(run.kit_type), EnrolmentFactory(run=run))
    with django_assert_max_num_queries(17):
        signed_in.get(PLAN)


def test_one_kit_is_lent_to_one_student_by_form(signed_in: Client) -> None:
    kit = complete_kit()
    enrolment = EnrolmentFactory(run=CourseRunFactory(kit_type=kit.kit_type))
    EnrolmentFactory()
    address = reverse("rentals:plan_lend", args=[kit.code])
    assert address in text_of(signed_in.get(PLAN))
    page = text_of(signed_in.get(address))
    assert page.count("<option") == 2 and str(enrolment) in page
    answer = signed_in.post(address, {"enrolment": enrolment.pk}, follow=True)
    assert f"Kit {kit.code} assigned to {enrolment.student.name}." in text_of(answer)
    assert Loan.objects.get().enrolment == enrolment
    assert "Nobody waits for a kit" in text_of(signed_in.get(address))


def test_a_student_gets_another_kit_by_form(signed_in: Client) -> None:
    loan = assigned_loan()
    other, wrong = complete_kit(loan.kit.kit_type), complete_kit()
    address = reverse("rentals:plan_swap", args=[loan.pk])
    assert address in text_of(signed_in.get(PLAN))
    assert f'value="{other.code}"' in text_of(signed_in.get(address))
    refused = signed_in.post(address, {"kit": wrong.code})
    assert refused.status_code == 422 and "needs another kit type" in text_of(refused)
    done = signed_in.post(address, {"kit": other.code}, follow=True)
    assert "must be cleared" not in text_of(done)
    new = Loan.objects.get(stage="assigned")
    assert (new.kit, new.enrolment) == (other, loan.enrolment)


def test_no_kit_set_aside_for_another_is_proposed_and_an_uncleared_one_is_named(
    signed_in: Client,
) -> None:
    loan = assigned_loan()
    kit_type = loan.kit.kit_type
    agreed, failed = complete_kit(kit_type), complete_kit(kit_type, cleared=False)
    whose = EnrolmentFactory(run=loan.enrolment.run)
    set_aside({whose.pk: agreed.code})
    address = reverse("rentals:plan_swap", args=[loan.pk])
    shown = signed_in.get(address)
    assert shown.context["form"]["kit"].value() == failed.code
    assert f"set aside for {whose.student.name}" in text_of(shown)
    done = signed_in.post(address, {"kit": failed.code}, follow=True)
    assert f"gets kit {failed.code}. It must be cleared and complete" in text_of(done)
