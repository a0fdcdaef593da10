import numpy as np
import pytest

from rentals.planning.ready_count import at_least, count_law, gains_if_sure, spares_for

pytestmark = pytest.mark.any_database


def test_kits_of_a_kind_are_counted_together():
    alike = count_law(np.array([[0.3, 0.8]]), [2, 3])
    assert alike == pytest.approx(count_law(np.array([0.3, 0.3, 0.8, 0.8, 0.8])))


def test_a_mixture_of_draws_is_wider_than_its_mean():
    unsure = count_law(np.array([[0.5] * 10, [0.9] * 10]))
    plain = count_law(np.full(10, 0.7))
    numbers = np.arange(11)
    assert unsure @ numbers == pytest.approx(plain @ numbers)
    assert unsure @ numbers**2 > plain @ numbers**2 + 3


def test_a_kit_that_is_made_sure_takes_the_place_of_one_that_is_not():
    chances, sure = np.array([[0.2, 0.5], [0.6, 0.5]]), np.array([[1.0, 0.9], [1.0, 0.9]])
    first, second = gains_if_sure(chances, [2, 1], sure, 2)
    by_hand = np.mean([at_least(count_law(np.array([1.0, p, 0.5])), 2) for p in (0.2, 0.6)])
    assert first.enough_if_sure == pytest.approx(by_hand)
    by_hand = np.mean([at_least(count_law(np.array([p, p, 0.9])), 2) for p in (0.2, 0.6)])
    assert second.enough_if_sure == pytest.approx(by_hand)


def test_nobody_to_serve_is_served_for_sure():
    law = count_law(np.array([0.1, 0.2]))
    assert at_least(law, 0) == 1
    assert at_least(law, 3) == 0
    assert spares_for(law, 0, 0.95) == 0
    assert spares_for(law, 4, 0.95) == 4
