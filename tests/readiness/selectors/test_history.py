"""A kit's bench results over time."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from readiness.models import BenchTest
from readiness.selectors.history import ROUNDS, kit_history
from tests.factories import complete_kit

pytestmark = pytest.mark.django_db


def test_rounds_with_a_verdict_come_newest_first_as_many_as_fit_a_page():
    kit, now = complete_kit(), timezone.now()
    BenchTest.objects.bulk_create(
        BenchTest(kit=kit, current=False, at=now - timedelta(days=day), verdict="fit")
        for day in range(ROUNDS + 2)
    )
    BenchTest.objects.create(kit=kit, at=now)
    history = kit_history(kit)
    assert len(history) == ROUNDS
    assert history[0].at == now and history[0].verdict == "fit"
    assert [each.at for each in history] == sorted((each.at for each in history), reverse=True)
