"""Work in the background: asked for once, cancelled, taken up again, cleared."""

from __future__ import annotations

import errno
from datetime import timedelta

import pytest
from django.db import OperationalError
from django.utils import timezone

from rentals.actions.errand_claims import (
    ErrandProgress,
    ErrandTaken,
    claim_errand,
    keep_file,
)
from rentals.actions.errand_work import ErrandFile, ErrandResult
from rentals.actions.errands import (
    cancel_errand,
    forget_old_errands,
    forget_results,
    take_up_errands,
)
from rentals.models import Errand, ErrandKind, ErrandPiece
from rentals.selectors.errands import delay_words
from rentals.states import ErrandState
from rentals.store_away import StoreAway
from tests.rentals.errands import MINUTE, asked, done, five_steps, queued

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("nobody_works")]


def test_what_is_asked_for_twice_is_begun_once(owner, work_is):
    work_is(five_steps)
    first = asked(actor=owner)
    assert asked(actor=owner) == first
    assert asked() != first
    assert queued() == list(Errand.objects.order_by("pk").values_list("pk", flat=True))
    done(first)
    assert asked(actor=owner) != first


def test_one_that_waits_is_cancelled_at_once(work_is):
    work_is(five_steps)
    errand = cancel_errand(asked())
    assert errand.state == ErrandState.CANCELLED
    assert done(errand).state == ErrandState.CANCELLED and errand.done == 0
    assert cancel_errand(errand).ended_at == errand.ended_at


def _died(errand: Errand) -> Errand:
    """Claimed by a worker of which nothing was heard for some minutes."""
    claimed = claim_errand(errand.pk)
    assert claimed is not None
    claimed.claimed_at = timezone.now() - 3 * MINUTE
    claimed.save(update_fields=["claimed_at"])
    return claimed


def test_work_of_a_dead_worker_is_done_once_more_and_then_given_up(work_is):
    work_is(five_steps)
    errand = asked()
    first = _died(errand)
    assert "Nothing was heard" in delay_words(first, timezone.now())
    keep_file(first, [b"half of it"])
    assert take_up_errands({errand.pk}) == 1
    assert queued() == [errand.pk, errand.pk]
    with pytest.raises(ErrandTaken):
        keep_file(first, [b"the other half"])
    _died(errand)
    assert not ErrandPiece.objects.exists()
    assert take_up_errands({errand.pk}) == 0
    errand.refresh_from_db()
    assert (errand.state, errand.problem) == (
        ErrandState.FAILED,
        "The worker that did this ended in the middle, twice. Nothing is half done. Start it again."
        " If it ends once more, the log of the desk says why.",
    )


@pytest.mark.parametrize(
    ("problem", "words"),
    [
        (OperationalError("database is locked"), "Something else held the desk's data"),
        (OSError(errno.ENOSPC, "No space left on device"), "The disk of this desk is full."),
        (StoreAway("It is away."), "The files of this desk lie in a store"),
        (ZeroDivisionError(), "The desk failed over this."),
    ],
)
@pytest.mark.parametrize("kind", ErrandKind)
def test_whatever_breaks_it_off_it_says_what_stays(work_is, kind, problem, words):
    def work(errand: Errand, progress: ErrandProgress) -> ErrandResult:
        raise problem

    work_is(work, kind)
    errand = done(asked(kind=kind))
    assert errand.state == ErrandState.FAILED and errand.problem.startswith(words)
    counts_by_parts = kind in (ErrandKind.FLEET, ErrandKind.RESCORE)
    assert ("stays" in errand.problem or "keep" in errand.problem) is counts_by_parts
    assert ("Nothing is half done." in errand.problem) is not counts_by_parts


def test_what_was_cancelled_is_not_done_once_more(work_is):
    errand = asked()
    cancel_errand(_died(errand))
    assert take_up_errands({errand.pk}) == 0
    errand.refresh_from_db()
    assert errand.state == ErrandState.CANCELLED
    assert "its worker ended before it could stop. Nothing is half done." in errand.problem
    assert not errand.when_cancelled


def test_a_worker_that_lives_keeps_its_errand():
    errand = asked()
    claim_errand(errand.pk)
    assert take_up_errands({errand.pk}) == 0
    Errand.objects.update(claimed_at=timezone.now() - 20 * MINUTE)
    assert take_up_errands(set()) == 1


def test_one_that_was_lost_before_it_was_begun_is_queued_again():
    errand = asked(at=timezone.now() - 2 * MINUTE)
    assert "waits for a worker" in delay_words(errand, timezone.now())
    assert take_up_errands({errand.pk}) == 1
    assert queued() == [errand.pk, errand.pk]


def test_an_erasure_takes_all_results_along(work_is):
    def work(errand: Errand, progress: ErrandProgress) -> ErrandResult:
        return ErrandResult("Ada Bow's kit.", file=ErrandFile("a.txt", "text/plain", [b"Ada"]))

    work_is(work)
    ended, waiting = done(asked()), asked()
    at_work = claim_errand(asked(actor=None).pk)
    assert at_work == waiting
    forget_results()
    assert not ErrandPiece.objects.exists()
    assert not Errand.objects.filter(pk=ended.pk).exists()
    waiting.refresh_from_db()
    assert (waiting.state, waiting.attempts) == (ErrandState.WAITING, 0)
    with pytest.raises(ErrandTaken):
        keep_file(at_work, [b"Ada"])
    assert done(waiting).state == ErrandState.DONE


def test_what_ended_a_week_ago_goes_and_what_waits_stays(work_is):
    work_is(five_steps)
    old, fresh = done(asked()), done(asked())
    waiting = asked()
    week = timezone.now() - timedelta(days=7, minutes=1)
    Errand.objects.filter(pk=old.pk).update(ended_at=week)
    Errand.objects.filter(pk=waiting.pk).update(asked_at=week)
    assert forget_old_errands() == 1
    assert set(Errand.objects.all()) == {fresh, waiting}
