"""The page of who gets which kit."""

import uuid

import pytest
from django.test import Client
from django.urls import reverse

from rentals.actions.issue import hold
from rentals.models import Earmark
from tests.factories import CourseRunFactory, EnrolmentFactory, complete_kit

pytestmark = pytest.mark.django_db


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


def page_of(run) -> str:
    return f"{reverse('rentals:plan_assign')}?run={run.pk}"


def sent(page, **ticked) -> dict:
    rows = {f"kit_{line.enrolment.pk}": line.after for line in page.context["page"]}
    return {"digest": page.context["digest"], "form_key": str(uuid.uuid4()), **rows, **ticked}


def test_nothing_changes_until_rows_are_accepted_and_then_only_those(signed_in: Client) -> None:
    kits = [complete_kit()]
    kits.append(complete_kit(kits[0].kit_type))
    run = CourseRunFactory(kit_type=kits[0].kit_type)
    first, second = EnrolmentFactory.create_batch(2, run=run)
    other = EnrolmentFactory()
    bare = text_of(signed_in.get(reverse("rentals:plan_assign")))
    assert run.name in bare and "Before and after" not in bare
    other.delete()
    assert "Before and after" in text_of(signed_in.get(reverse("rentals:plan_assign")))
    page = signed_in.get(page_of(run))
    shown = text_of(page)
    assert "Everybody has a kit." in shown and "Accept 2 changes" in shown
    assert not Earmark.objects.exists()
    nothing = signed_in.post(page_of(run), sent(page))
    assert nothing.status_code == 422 and "Nothing was ticked" in text_of(nothing)
    signed_in.post(page_of(run), sent(page, who=[second.pk]))
    assert list(Earmark.objects.values_list("enrolment", "kit__code")) == [
        (second.pk, page.context["plan"].changing[second.pk])
    ]
    again = signed_in.get(page_of(run))
    after = text_of(signed_in.post(page_of(run), sent(again, all="1"), follow=True))
    assert "1 kit is set aside" in after and Earmark.objects.count() == 2
    pin = reverse("rentals:plan_pin", args=[first.pk])
    pinned = signed_in.post(pin, {"pinned": "1", "next": page_of(run)}, follow=True)
    assert "stays with" in text_of(pinned) and Earmark.objects.get(enrolment=first).pinned


def test_what_moved_since_is_shown_and_nothing_is_written(signed_in: Client) -> None:
    kits = [complete_kit()]
    kits.append(complete_kit(kits[0].kit_type))
    run = CourseRunFactory(kit_type=kits[0].kit_type)
    enrolment = EnrolmentFactory(run=run)
    page = signed_in.get(page_of(run))
    given = page.context["plan"].changing[enrolment.pk]
    hold(next(kit for kit in kits if kit.code == given), reason="A strap is missing.")
    refused = signed_in.post(page_of(run), sent(page, who=[enrolment.pk]))
    shown = text_of(refused)
    other = next(kit for kit in kits if kit.code != given)
    assert refused.status_code == 422 and "Something moved since" in shown
    assert f"{given} was proposed, now {other.code}" in shown
    assert not Earmark.objects.exists()
