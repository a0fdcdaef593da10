"""One verdict of a capture is current; the earlier ones stay behind it."""

from dataclasses import replace

import pytest

from readiness.actions.score import score_one
from readiness.actions.verdicts import keep_verdicts
from readiness.judgement.judging import limits_from
from readiness.models import BenchPlan
from tests.readiness.drops import wait

pytestmark = pytest.mark.django_db


def test_scoring_again_with_the_same_outcome_writes_no_second_verdict(capture):
    wait(capture)
    assert score_one(capture.pk) == "scored"
    assert capture.verdicts.count() == 1


def test_another_limit_makes_a_new_verdict_and_keeps_the_old(capture):
    plan = BenchPlan.of(capture.kit.kit_type)
    plan.noise_limit_uv = 0.05
    plan.save()
    wait(capture)
    score_one(capture.pk)
    old, new = capture.verdicts.order_by("pk")
    assert (old.current, old.verdict, old.limits["noise_uv"]) == (False, "fit", 2.0)
    assert (new.current, new.verdict, new.limits["noise_uv"]) == (True, "not fit", 0.05)


def test_a_verdict_says_why_it_was_made_and_keeps_its_numbers(capture):
    first = capture.verdicts.get()
    assert first.why == "first scoring"
    keep_verdicts([(capture, first.result, limits_from(first.limits))])
    assert capture.verdicts.get() == first
    tighter = replace(limits_from(first.limits), noise_uv=0.9)
    keep_verdicts([(capture, first.result, tighter)])
    second = capture.verdicts.get(current=True)
    assert (second.why, second.current, second.noise_uv) == ("scored again", True, first.noise_uv)
    assert not capture.verdicts.get(pk=first.pk).current
