"""Several processes find what one finds, and look at the very same database."""

import pytest

from rentals.models import Kit
from rentals.verifying.jobs import all_jobs
from rentals.verifying.together import FEW, collect, look_at, usual_processes
from tests.factories import packed_loan


def _sentences(processes: int) -> list[str]:
    looked = look_at(all_jobs(), {}, processes)
    return collect(looked, lambda job, is_clean: None).told()


@pytest.mark.night
@pytest.mark.django_db(transaction=True)
def test_two_processes_find_what_one_finds():
    Kit.objects.filter(pk=packed_loan().kit_id).update(state="shelf")
    alone = _sentences(1)
    assert len(alone) >= 1
    assert _sentences(2) == alone


@pytest.mark.django_db
def test_an_open_transaction_is_looked_at_by_its_own_process():
    assert usual_processes(FEW) == 1
