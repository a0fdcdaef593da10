"""Who lacks counted pieces when parcels are served from what is at hand."""

from datetime import date, timedelta

import pytest

from rentals.errors import Refused
from rentals.planning.stock_need import (
    Lot,
    StockLack,
    StockNeed,
    check_expiry,
    lacking_stock,
    lasts,
    usable_until,
)

DAY = date(2027, 3, 1)
LATER = DAY + timedelta(days=30)
GEL, BAND = 1, 2


def test_the_last_day_of_use_is_the_day_of_expiry() -> None:
    assert lasts(DAY, DAY) and lasts(None, DAY)
    assert not lasts(DAY, DAY + timedelta(days=1))


@pytest.mark.parametrize("here, have", [(10, None), (9, 3), (4, 0), (0, 0)])
def test_the_first_served_is_the_first_in_order(here: int, have: int | None) -> None:
    first, second = StockNeed(7, BAND, 6, DAY), StockNeed(8, BAND, 4, DAY)
    lacks = lacking_stock([first, second], {BAND: [Lot(here)]})
    of_second = [lack for lack in lacks if lack.need == second]
    assert of_second == ([] if have is None else [StockLack(second, have, taken=here - have)])


def test_pieces_that_expire_too_early_are_not_here() -> None:
    need = StockNeed(7, GEL, 12, LATER)
    lots = {GEL: [Lot(100, DAY), Lot(5, LATER), Lot(2)]}
    assert lacking_stock([need], lots) == [StockLack(need, 7, too_old=100)]


def test_pieces_last_beyond_the_due_day_or_at_least_until_they_go_out() -> None:
    assert usable_until(LATER, 7, DAY, short_dated=False) == LATER + timedelta(days=7)
    assert usable_until(LATER, 7, DAY, short_dated=True) == DAY
    assert usable_until(DAY, 0, LATER, short_dated=False) == LATER


def test_a_past_expiry_needs_a_word() -> None:
    with pytest.raises(Refused, match="This day is past") as refusal:
        check_expiry(DAY, LATER, expired_already=False)
    assert refusal.value.field == "expired_already"
    check_expiry(DAY, LATER, expired_already=True)
    check_expiry(DAY, DAY, expired_already=False)
    check_expiry(None, DAY, expired_already=False)


def test_what_expires_first_is_taken_first_so_that_more_is_left_for_longer_loans() -> None:
    short, long = StockNeed(7, GEL, 10, DAY), StockNeed(8, GEL, 10, LATER)
    assert lacking_stock([short, long], {GEL: [Lot(10, LATER), Lot(10, DAY)]}) == []


def test_an_item_without_pieces_lacks_all_of_them() -> None:
    need = StockNeed(7, GEL, 12, DAY)
    assert lacking_stock([need], {}) == [StockLack(need, 0)]
