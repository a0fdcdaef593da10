"""The measurements run for real, each on a scratch desk that is gone afterwards."""

import pytest

from kitdesk.scratch.drop import drop_speed
from kitdesk.scratch.rescoring import rescore_ratio
from kitdesk.scratch.workers import workers_speed

pytestmark = pytest.mark.night


def test_two_workers_are_timed_beside_one():
    speed = workers_speed(60, 1)
    assert speed.one > 0 and speed.two > 0
    assert 0 < speed.in_transactions_ms < speed.ms and 1 < speed.reckoned < 2
    assert "cores" in speed.load


def test_two_processes_are_timed_beside_one():
    ratio = rescore_ratio(12)
    assert ratio.value > 0
    assert "12 captures" in ratio.detail and "load" in ratio.detail


def test_another_writer_is_timed_while_files_are_dropped():
    speed = drop_speed(60)
    assert speed.notes >= 1 and speed.waited_s > 0
    assert speed.files == 59 and speed.held_s > 0
