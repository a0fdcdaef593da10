"""Kits set aside for students of later runs."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from rentals.actions.assign import assign
from rentals.actions.earmark import let_go, pin, set_aside
from rentals.actions.runs import withdraw
from rentals.errors import Refused
from rentals.models import Earmark, Event, Kit
from rentals.verify import verify
from tests.factories import CourseRunFactory, EnrolmentFactory, complete_kit, packed_loan

pytestmark = pytest.mark.django_db


def test_a_kit_still_away_is_set_aside_pinned_and_let_go_and_the_history_says_so(owner) -> None:
    away = packed_loan().kit
    run = CourseRunFactory(kit_type=away.kit_type)
    enrolment = EnrolmentFactory(run=run)
    set_aside({enrolment.pk: away.code}, actor=owner)
    assert pin(enrolment, pinned=True, actor=owner).pinned
    assert verify() == []
    let_go(enrolment, actor=owner)
    assert not Earmark.objects.exists() and verify() == []
    texts = [row.text for row in Event.objects.filter(kit=away).order_by("-number")[:3]]
    name = f"{enrolment.student.name} on {run.name}."
    assert texts == [
        f"No longer set aside for {name}",
        f"Pinned: set aside for {name}",
        f"Set aside for {name}",
    ]


def test_another_kit_takes_the_place_of_the_one_before_and_assigning_ends_it() -> None:
    first = complete_kit()
    second = complete_kit(first.kit_type)
    enrolment = EnrolmentFactory(run=CourseRunFactory(kit_type=first.kit_type))
    set_aside({enrolment.pk: first.code})
    set_aside({enrolment.pk: second.code})
    assert [row.kit.code for row in Earmark.objects.all()] == [second.code]
    assign(Kit.objects.get(pk=first.pk), enrolment)
    assert not Earmark.objects.exists()
    assert verify() == []


def test_who_withdraws_has_nothing_set_aside() -> None:
    kit = complete_kit()
    enrolment = EnrolmentFactory(run=CourseRunFactory(kit_type=kit.kit_type))
    set_aside({enrolment.pk: kit.code})
    withdraw(enrolment)
    assert not Earmark.objects.exists() and verify() == []
    with pytest.raises(Refused, match="withdrew"):
        set_aside({enrolment.pk: kit.code})


def test_another_kit_type_is_refused_and_nothing_is_written() -> None:
    fits, other = complete_kit(), complete_kit()
    run = CourseRunFactory(kit_type=fits.kit_type)
    rows = {EnrolmentFactory(run=run).pk: kit.code for kit in (fits, other)}
    with pytest.raises(Refused, match="needs another kit type"):
        set_aside(rows)
    assert not Earmark.objects.exists() and verify() == []


def test_an_earmark_that_no_event_made_shows() -> None:
    kit = complete_kit()
    enrolment = EnrolmentFactory(run=CourseRunFactory(kit_type=kit.kit_type))
    set_aside({enrolment.pk: kit.code})
    Earmark.objects.update(pinned=True)
    assert verify() == [
        f"{kit.code}: what is set aside for enrolment {enrolment.pk} is not what its events say."
    ]


def test_many_take_few_queries() -> None:
    kits = [complete_kit()]
    kits += [complete_kit(kits[0].kit_type) for _ in range(11)]
    run = CourseRunFactory(kit_type=kits[0].kit_type)
    rows = {EnrolmentFactory(run=run).pk: kit.code for kit in kits}
    with CaptureQueriesContext(connection) as queries:
        set_aside(rows)
    # Some of them for the log: rows that changed, where it ends, its lines.
    assert len(queries) <= 18
    assert Earmark.objects.count() == 12 and verify() == []
