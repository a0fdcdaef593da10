"""The bench's word on a kit is kept in one write: its scores, and whether it may leave."""

import pytest
from django.db import transaction

from rentals.actions.bench_word import BenchWord, hear_bench
from rentals.actions.dispatch import dispatch
from rentals.actions.record import lock_kit
from rentals.actions.register import remove_part
from rentals.verify import verify
from tests.factories import complete_kit, packed_loan

pytestmark = pytest.mark.django_db
SCORES = (100, None, 50)


def told(kit, **facts):
    """What stands against clearing the kit, and the kit after it."""
    with transaction.atomic():
        hindrance = hear_bench(lock_kit(kit), BenchWord(*SCORES, **facts))
    kit.refresh_from_db()
    assert (kit.score_continuity, kit.score_noise, kit.score_battery) == SCORES
    assert kit.scored_at is not None
    return hindrance


def test_a_fit_kit_is_cleared_once():
    kit = complete_kit(cleared=False)
    for _ in range(2):
        assert told(kit, fit_by="bench tests passed.") == ""
    assert kit.cleared and kit.cleared_at and kit.not_cleared_reason == ""
    assert kit.events.filter(text="Cleared for issue: bench tests passed.").count() == 1


def test_a_fit_kit_that_may_not_leave_says_why_and_keeps_its_scores():
    kit = complete_kit(cleared=False)
    told(kit, against="Lead B is open.")
    remove_part(kit, kit.parts.get(kind="charger"), to="spare")
    before = kit.events.count()
    assert "Charger is missing" in told(kit, fit_by="bench tests passed.")
    away = dispatch(packed_loan().kit).kit
    assert told(away) == ""
    assert kit.events.count() == before
    assert not kit.cleared and kit.cleared_at is None
    assert kit.not_cleared_reason == "Lead B is open."


def test_what_is_against_a_kit_takes_its_clearance():
    kit = complete_kit()
    for _ in range(2):
        assert told(kit, against=" Lead B is open. ") == ""
    assert not kit.cleared and kit.not_cleared_reason == "Lead B is open."
    assert kit.events.filter(text="Not cleared: Lead B is open.").count() == 1
    assert verify() == []
