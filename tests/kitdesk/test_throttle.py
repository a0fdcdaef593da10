"""Waits that grow with each wrong try."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection
from hypothesis import given
from hypothesis import strategies as st

from kitdesk import throttle
from kitdesk.throttle import Patience, begin_try, forget, take_back, wrong_tries

PATIENCE = Patience(free=3, first=30, most=600)


@given(st.integers(0, 200))
def test_waits_grow_up_to_the_longest(wrong):
    wait = PATIENCE.wait_after(wrong)
    assert 0 <= wait <= PATIENCE.wait_after(wrong + 1) <= PATIENCE.most
    assert (wait == 0) == (wrong < PATIENCE.free)


def test_each_wait_is_twice_the_one_before():
    waits = [PATIENCE.wait_after(wrong) for wrong in range(9)]
    assert waits == [0, 0, 0, 30, 60, 120, 240, 480, 600]


def test_a_right_try_is_taken_back_and_all_can_be_forgotten(db, clean_cache):
    for _ in range(3):
        assert begin_try("key", PATIENCE) == 0
    take_back("key")
    assert wrong_tries("key") == 2
    assert begin_try("key", PATIENCE) == 0
    assert begin_try("key", PATIENCE) > 0
    assert begin_try("another", PATIENCE) == 0
    forget("key")
    assert wrong_tries("key") == 0
    assert begin_try("key", PATIENCE) == 0


@pytest.mark.django_db(transaction=True)
def test_many_at_once_get_no_further_than_many_in_a_row(clean_cache, monkeypatch):
    monkeypatch.setattr(throttle, "REMEMBERED", 600)

    def one_try(_: int) -> bool:
        try:
            return begin_try("key", PATIENCE) == 0
        finally:
            connection.close()

    with ThreadPoolExecutor(8) as pool:
        let_in = sum(pool.map(one_try, range(24)))
    assert let_in == PATIENCE.free
