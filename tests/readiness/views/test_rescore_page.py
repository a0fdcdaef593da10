"""The owner has older captures scored by the plan of now, in the background."""

from __future__ import annotations

import uuid

import pytest
from django.urls import reverse

from readiness.actions import rescore as rescoring
from readiness.models import Verdict
from rentals.actions.errand_claims import claim_errand
from rentals.actions.errands import do_errand
from rentals.models import Errand, KitType
from rentals.states import ErrandState
from tests.readiness.drops import fit_kit, tighten

pytestmark = pytest.mark.django_db


@pytest.fixture
def kit():
    return fit_kit()


@pytest.fixture
def asked(kit, signed_in, settings) -> Errand:
    """A tighter limit, by which the captures are to be scored again."""
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}
    tighten(kit)
    plan_page = reverse("readiness:plan", args=[kit.kit_type_id])
    address = reverse("readiness:plan_rescore", args=[kit.kit_type_id])
    assert address in signed_in.get(plan_page).content.decode()
    assert "scored again in the background" in " ".join(
        signed_in.get(address).content.decode().split()
    )
    assert not Errand.objects.exists()
    answer = signed_in.post(address, {"form_key": str(uuid.uuid4())})
    errand = Errand.objects.get()
    assert answer.url == errand.get_absolute_url()
    assert errand.title in signed_in.get(plan_page).content.decode()
    return errand


def work_off(errand: Errand) -> Errand:
    do_errand.call(errand.pk)
    errand.refresh_from_db()
    return errand


def test_captures_are_scored_again_and_their_kits_named(asked, kit, owner, signed_in):
    work_off(asked)
    assert (asked.state, asked.done, asked.total) == (ErrandState.DONE, 3, 3)
    assert asked.said.startswith("3 captures were scored again; ")
    [named] = asked.named
    assert named.endswith(": fit before, not_fit now.") or ": fit before, " in named
    kit.refresh_from_db()
    assert not kit.cleared and kit.events.latest("pk").actor == owner
    shown = signed_in.get(asked.get_absolute_url()).content.decode()
    assert "Kits with another verdict" in shown
    again = Errand.objects.create(
        kind=asked.kind,
        title="",
        about="/",
        seen_by="/",
        facts=asked.facts,
        asked_by=owner,
        asked_at=asked.asked_at,
    )
    assert "by the limits of now already" in work_off(again).said


def test_captures_of_other_kit_types_are_left_alone(asked, kit):
    Errand.objects.update(facts={"kit_type": KitType.objects.create(name="Other").pk})
    work_off(asked)
    kit.refresh_from_db()
    assert kit.cleared


def test_cancelled_it_keeps_what_was_scored_by_then_and_a_second_time_does_the_rest(
    asked, kit, signed_in, monkeypatch
):
    monkeypatch.setattr(rescoring, "WRITTEN_AT_ONCE", 1)
    keep = rescoring._keep

    def kept(*words):
        Errand.objects.update(stopping=True)
        return keep(*words)

    monkeypatch.setattr(rescoring, "_keep", kept)
    monkeypatch.setattr("rentals.actions.errand_claims.ErrandProgress.step", _told_at_once)
    work_off(asked)
    assert (asked.state, asked.done) == (ErrandState.CANCELLED, 1)
    kit.refresh_from_db()
    assert kit.cleared and Verdict.objects.filter(current=False).count() == 1
    shown = " ".join(signed_in.get(asked.get_absolute_url()).content.decode().split())
    assert "1 of 3 captures were scored by then" in shown
    monkeypatch.setattr(rescoring, "_keep", keep)
    Errand.objects.update(state=ErrandState.WAITING, stopping=False)
    work_off(asked)
    assert asked.said.startswith("2 captures were scored again; ")
    assert "A worker ended in the middle" in asked.said
    kit.refresh_from_db()
    assert not kit.cleared and Verdict.objects.filter(current=False).count() == 3


def test_one_that_fails_in_the_middle_says_how_many_were_scored(asked, signed_in, monkeypatch):
    monkeypatch.setattr(rescoring, "WRITTEN_AT_ONCE", 1)
    keep = rescoring._keep

    def fails(*words):
        if Verdict.objects.filter(current=False).count() == 2:
            raise ValueError("no such thing")
        return keep(*words)

    with monkeypatch.context() as failing:
        failing.setattr(rescoring, "_keep", fails)
        work_off(asked)
    assert asked.state == ErrandState.FAILED
    assert Verdict.objects.filter(current=False).count() == 2
    shown = " ".join(signed_in.get(asked.get_absolute_url()).content.decode().split())
    assert "2 captures were scored again. The desk failed over this." in shown
    assert "were scored by then keep what came of it." in shown
    assert "Start it again for the rest." in shown
    Errand.objects.update(state=ErrandState.WAITING)
    assert work_off(asked).said.startswith("1 capture was scored again; ")


def _told_at_once(progress, steps: int = 1) -> None:
    progress._errand.done += steps
    progress._tell()


def test_a_kit_is_judged_with_its_last_capture_or_that_is_not_kept(asked, kit, monkeypatch):
    def died(*words: object, **facts: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as dying:
        dying.setattr(rescoring, "conclude", died)
        with pytest.raises(KeyboardInterrupt):
            do_errand.call(asked.pk)
    assert not Verdict.objects.filter(current=False).exists()
    Errand.objects.update(state=ErrandState.WAITING, claimed_at=None)
    assert claim_errand(asked.pk) is not None
    Errand.objects.update(state=ErrandState.WAITING, claimed_at=None, attempts=0)
    work_off(asked)
    kit.refresh_from_db()
    assert not kit.cleared
