"""What the check kit says of a day."""

import pytest
from django.utils import timezone

from readiness.actions.check_kit import appoint
from readiness.selectors.bench_day import bench_day
from tests.factories import complete_kit
from tests.readiness.drops import learnt, still

pytestmark = pytest.mark.django_db


@pytest.fixture
def check():
    kit = complete_kit(cleared=False)
    appoint(kit)
    kit.refresh_from_db()
    return kit


def test_without_a_check_kit_nothing_is_said():
    assert bench_day(timezone.localdate()) is None


def test_it_says_untested_then_learning_then_in_control(check):
    today = timezone.localdate()
    assert bench_day(today).state == "untested"
    still(check, 1)
    assert bench_day(today).state == "learning"
    assert "8 more bench days" in bench_day(today).sentence
    learnt(check)
    day = bench_day(today)
    assert day.state == "in_control"
    assert day.low_uv < day.value_uv < day.high_uv
