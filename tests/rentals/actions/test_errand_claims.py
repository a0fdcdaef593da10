"""A worker's hold on long work: told of while it goes on, let go of at a step."""

from __future__ import annotations

import pytest
from django.db import connection

from rentals.actions import errand_claims
from rentals.actions.errand_claims import (
    ErrandProgress,
    claim_errand,
    keep_file,
)
from rentals.actions.errand_work import ErrandResult
from rentals.actions.errands import (
    cancel_errand,
)
from rentals.models import Errand, ErrandPiece
from rentals.states import ErrandState
from tests.rentals.errands import asked, done, five_steps, queued

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("nobody_works")]


@pytest.mark.django_db(transaction=True)
def test_others_see_how_far_it_is_and_no_lock_is_held_meanwhile(work_is):
    seen = []

    def work(errand: Errand, progress: ErrandProgress) -> ErrandResult:
        often = ErrandProgress(errand, every_s=0)
        often.begin(3, "parcels")
        for _ in range(3):
            assert not connection.in_atomic_block
            often.step()
            row = Errand.objects.get(pk=errand.pk)
            seen.append((row.state, row.done, row.total, row.at_hand))
        return ErrandResult("Three.")

    work_is(work)
    assert done(asked()).state == ErrandState.DONE
    assert seen == [(ErrandState.WORKING, n, 3, "parcels") for n in (1, 2, 3)]


def test_steps_are_written_down_a_second_apart():
    errand = claim_errand(asked().pk)
    now = [0.0]
    progress = ErrandProgress(errand, every_s=1.0, clock=lambda: now[0])
    progress.begin(100, "steps")
    written = []
    for _ in range(12):
        now[0] += 0.25
        progress.step()
        written.append(Errand.objects.get(pk=errand.pk).done)
    assert sorted(set(written)) == [0, 4, 8, 12]


def test_one_at_work_stops_at_its_next_step_and_keeps_nothing(work_is, monkeypatch):
    monkeypatch.setattr(ErrandProgress.__init__, "__kwdefaults__", {"every_s": 0, "clock": float})

    def work(errand: Errand, progress: ErrandProgress) -> ErrandResult:
        progress.begin(5, "steps")
        keep_file(errand, [b"half of it"])
        assert cancel_errand(errand).state == ErrandState.WORKING
        for _ in range(5):
            progress.step()
        raise AssertionError("It went on.")

    work_is(work)
    errand = done(asked())
    assert (errand.state, errand.done) == (ErrandState.CANCELLED, 1)
    assert not ErrandPiece.objects.exists()
    assert "nothing is noted" in errand.when_cancelled


def test_a_process_that_ends_gives_its_errand_back(work_is, monkeypatch):
    work_is(five_steps)
    errand = asked()
    errand_claims.PROCESS_ENDS.set()
    try:
        done(errand)
    finally:
        errand_claims.PROCESS_ENDS.clear()
    assert (errand.state, errand.attempts) == (ErrandState.WAITING, 0)
    assert queued() == [errand.pk, errand.pk]
    assert done(errand).state == ErrandState.DONE
