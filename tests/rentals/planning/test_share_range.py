import pytest

from rentals.planning.share_range import wilson

pytestmark = pytest.mark.any_database


def test_the_range_holds_the_share_and_stays_within_all_and_none():
    low, high = wilson(23, 25)
    assert 0.7 < low < 0.92 < high < 1
    assert wilson(4, 4)[1] == 1
    assert wilson(0, 4)[0] == 0


@pytest.mark.parametrize(("hits", "trials"), [(0, 0), (3, 2), (-1, 4)])
def test_a_share_of_nothing_is_refused(hits, trials):
    with pytest.raises(ValueError, match="a share needs trials"):
        wilson(hits, trials)
