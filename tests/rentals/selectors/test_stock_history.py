"""What earlier runs took of counted stock, and what is out and should come back."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.models import LoanStage, StockItem
from rentals.planning.reordering import RunUse
from rentals.planning.stock_need import Lot
from rentals.selectors.stock_history import ItemHistory, pieces_out, stock_history
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db


def test_a_run_used_up_what_does_not_come_back_and_a_share_of_the_rest():
    loan = packed_loan()
    today, run = timezone.localdate(), loan.enrolment.run
    assert not stock_history(today)
    dispatch(loan.kit, carrier="", tracking_number="")
    history = stock_history(today)
    gel = StockItem.objects.get(kind="electrodes")
    box = StockItem.objects.get(kind="box")
    assert history[gel.pk].past_runs([]) == [RunUse(run.post_by, 24, 24)]
    assert history[gel.pk].past_runs([run.pk]) == []
    assert history[box.pk].past_runs([]) == [RunUse(run.post_by, 1, 0.05)]
    assert history[gel.pk].use_of(run.pk, run.post_by, 48) == RunUse(run.post_by, 72, 72)
    out = {item: (due_on, lot) for item, due_on, lot in pieces_out(today)}
    assert out[box.pk] == (loan.due_on, Lot(1))
    assert gel.pk not in out
    assert not list(pieces_out(loan.due_on + timedelta(days=1)))
    loan.refresh_from_db()
    loan.stage = LoanStage.LOST
    loan.save()
    lost = stock_history(today)[box.pk]
    assert (lost.checked, lost.missed) == (1, 1)


def test_what_is_lost_is_guessed_until_returns_tell():
    assert ItemHistory().loss == 0.05
    assert ItemHistory(checked=90, missed=9).loss == pytest.approx(9.5 / 100)
