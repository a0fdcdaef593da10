"""Assigning kits to the students of a run."""

import uuid
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from rentals.actions.dispatch import dispatch
from rentals.actions.earmark import set_aside
from rentals.actions.issue import refuse_clearance
from rentals.models import Loan, LoanStage
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    complete_kit,
    packed_loan,
)

pytestmark = pytest.mark.django_db


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


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


def test_taking_the_last_cleared_kits_from_an_earlier_run_is_said_before_and_after(
    signed_in: Client,
) -> None:
    earlier = CourseRunFactory(name="Early strings")
    EnrolmentFactory.create_batch(2, run=earlier)
    later = CourseRunFactory(
        kit_type=earlier.kit_type, starts_on=earlier.starts_on + timedelta(days=30)
    )
    enrolments = EnrolmentFactory.create_batch(2, run=later)
    kits = [complete_kit(earlier.kit_type) for _ in range(3)]
    url = reverse("rentals:run_assign", args=[later.pk])
    warned = "Early strings has 2 students waiting for a kit and is to be posted earlier"
    shown = text_of(signed_in.get(url))
    assert warned in shown and "this leaves 1 cleared kit for it" in shown
    codes = {f"kit_{e.pk}": kit.code for e, kit in zip(enrolments, kits, strict=False)}
    assert warned in text_of(signed_in.post(url, codes, follow=True))
    first = text_of(signed_in.get(reverse("rentals:run_assign", args=[earlier.pk])))
    assert "to be posted earlier" not in first


def test_complete_kits_are_proposed_first_and_the_whole_gate_is_shown(signed_in: Client) -> None:
    run = CourseRunFactory()
    EnrolmentFactory.create_batch(3, run=run)
    keyless, kinked, complete = (complete_kit(run.kit_type, cleared=False) for _ in range(3))
    keyless.parts.filter(kind="licence_key").update(kit=None, place="spare")
    kinked.parts.filter(kind="lead_set").update(damaged=True, damage_note="lead B kinked")
    url = reverse("rentals:run_assign", args=[run.pk])
    response = signed_in.get(url)
    shown = text_of(response)
    fields = {field.name: field.value() for field in response.context["form"]}
    assert list(fields.values()) == [complete.code, keyless.code, kinked.code]
    assert "Licence key is missing: fit a spare." in shown
    assert "is damaged (lead B kinked): swap it." in shown
    assert "3 free kits, none complete and cleared. Each must pass the bench" in shown
    after = text_of(signed_in.post(url, fields, follow=True))
    said = "3 of them must pass the bench before packing; 2 of them must be made complete."
    assert said in after


def test_a_typing_error_never_says_that_no_kit_is_left(signed_in: Client) -> None:
    run = CourseRunFactory()
    wrong, emptied, typed_small = EnrolmentFactory.create_batch(3, run=run)
    kits = [complete_kit(run.kit_type) for _ in range(3)]
    data = {
        f"kit_{wrong.pk}": "K0014X",
        f"kit_{emptied.pk}": "",
        f"kit_{typed_small.pk}": f" {kits[0].code.lower()} ",
    }
    response = signed_in.post(reverse("rentals:run_assign", args=[run.pk]), data)
    shown = text_of(response)
    assert response.status_code == 422
    assert "no kit left" not in shown
    assert shown.count("no kit recognised: check the code") == 1
    assert shown.count("left without a kit") == 1
    assert "never out yet" in shown


def test_what_is_set_aside_is_proposed_to_its_student_and_to_nobody_else(
    signed_in: Client,
) -> None:
    run = CourseRunFactory()
    first, second = EnrolmentFactory.create_batch(2, run=run)
    elsewhere = EnrolmentFactory(run=CourseRunFactory(kit_type=run.kit_type))
    plain, taken, own = (complete_kit(run.kit_type) for _ in range(3))
    set_aside({elsewhere.pk: taken.code, second.pk: own.code})
    shown = signed_in.get(reverse("rentals:run_assign", args=[run.pk]))
    fields = {field.name: field.value() for field in shown.context["form"]}
    assert fields == {f"kit_{first.pk}": plain.code, f"kit_{second.pk}": own.code}
    assert text_of(shown).count("set aside for this student") == 1


def test_the_assign_page_and_the_plan_give_a_student_the_same_kit(signed_in: Client) -> None:
    away = dispatch(packed_loan().kit)
    run = CourseRunFactory(kit_type=away.kit.kit_type, starts_on=away.due_on + timedelta(days=90))
    first, *_ = EnrolmentFactory.create_batch(3, run=run)
    worn, flat = complete_kit(run.kit_type), complete_kit(run.kit_type)
    refuse_clearance(flat, reason="The battery is flat.")
    set_aside({first.pk: flat.code})
    plan = signed_in.get(f"{reverse('rentals:plan_assign')}?run={run.pk}").context["plan"]
    after = {line.enrolment.pk: line.after for line in plan.lines}
    assert set(after.values()) == {worn.code, flat.code, away.kit.code}
    shown = signed_in.get(reverse("rentals:run_assign", args=[run.pk]))
    fields = {field.name: field.value() for field in shown.context["form"]}
    here = {f"kit_{pk}": "" if code == away.kit.code else code for pk, code in after.items()}
    assert fields == here
    assert f"the plan gives {away.kit.code}, which cannot be assigned yet" in text_of(shown)
