"""A guided round is begun for one kit at a time; its files are confirmed all or none."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from readiness.actions.answer import answer_question
from readiness.actions.guided import begin_round, confirm_files
from readiness.intake.proposing import LEFT_OUT
from readiness.models import Capture, GuidedRound
from rentals.errors import Refused
from tests.factories import complete_kit, packed_loan
from tests.readiness.rounds import dropped, unnamed_round

pytestmark = pytest.mark.django_db


def keys():
    return list(Capture.objects.order_by("name").values_list("pk", flat=True))


def test_another_kit_ends_the_round_of_the_same_person_and_the_same_kit_begins_anew(owner):
    first, second = complete_kit(cleared=False), complete_kit(cleared=False)
    earlier = begin_round(first, actor=owner)
    begin_round(second)
    assert GuidedRound.objects.filter(ended_at=None).count() == 2
    begin_round(second, actor=owner)
    earlier.refresh_from_db()
    assert earlier.ended_at is not None
    assert list(GuidedRound.objects.filter(ended_at=None).values_list("kit", "begun_by")) == [
        (second.pk, owner.pk)
    ]


def test_a_clock_that_was_set_back_ends_no_round_before_its_begin():
    kit, now = complete_kit(cleared=False), timezone.now()
    ahead = begin_round(kit, at=now + timedelta(hours=1))
    begin_round(kit, at=now)
    ahead.refresh_from_db()
    assert ahead.ended_at == ahead.begun_at


def test_a_kit_that_is_not_at_the_bench_has_no_round():
    with pytest.raises(Refused, match="captures count when it is at the bench"):
        begin_round(packed_loan().kit)


def test_confirming_the_last_test_ends_the_round_and_clears_the_kit(owner):
    kit = complete_kit(cleared=False)
    begin_round(kit, actor=owner)
    dropped(kit, unnamed_round())
    still, flex, lift = keys()
    assert confirm_files(kit, {still: "still", flex: "flex"}) == 2
    assert GuidedRound.objects.get().ended_at is None
    assert confirm_files(kit, {lift: "lift"}, complete=True) == 1
    assert GuidedRound.objects.get().ended_at is not None
    kit.refresh_from_db()
    assert kit.cleared
    with pytest.raises(Refused, match="No file of this round waits"):
        confirm_files(kit, {lift: "lift"})


def test_a_file_that_is_left_out_stays_and_asks():
    kit = complete_kit(cleared=False)
    dropped(kit, unnamed_round()[:1])
    assert confirm_files(kit, {keys()[0]: LEFT_OUT}) == 0
    capture = Capture.objects.get()
    assert (capture.status, capture.declared) == ("asking", {})


def test_a_file_answered_meanwhile_keeps_all_others_waiting():
    kit, other = complete_kit(cleared=False), complete_kit(cleared=False)
    dropped(kit, unnamed_round())
    still, flex, _ = keys()
    Capture.objects.filter(pk=flex).update(status="scoring", claimed_at=timezone.now())
    with pytest.raises(Refused, match="rec 2.csv is being scored"):
        confirm_files(kit, {still: "still", flex: "flex"})
    assert Capture.objects.get(pk=still).status == "asking"
    answer_question(Capture.objects.get(pk=still), {"kit": other, "test": "still"})
    with pytest.raises(Refused):
        confirm_files(kit, {still: "still"})
