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


def by_convolution(chances: np.ndarray, counts: list[int]) -> np.ndarray:
    """The law one kit after the other, without a transform."""
    total = sum(counts)
    mixed = np.zeros(total + 1)
    for draw in chances:
        law = np.zeros(total + 1)
        law[0] = 1
        for chance, count in zip(draw, counts, strict=True):
            for _ in range(count):
                law = law * (1 - chance) + np.append(0, law[:-1]) * chance
        mixed += law / len(chances)
    return mixed


@pytest.mark.parametrize("seed", range(4))
def test_many_kits_follow_the_same_law_as_one_after_the_other(seed: int):
    rng = np.random.default_rng(seed)
    counts = [int(count) for count in rng.integers(1, 900, size=6)]
    chances = rng.choice([0.0, 0.001, 0.02, 0.3, 0.5, 0.97, 1.0], size=(3, 6)) * rng.random((3, 1))
    chances[0] = [0, 1, 0, 1, 1, 0]
    law = count_law(chances, counts)
    assert np.abs(law - by_convolution(chances, counts)).max() < 1e-12
    assert law.sum() == pytest.approx(1, abs=1e-12)


def test_draws_that_lie_far_apart_keep_their_places():
    law = count_law(np.array([[0.0], [1.0], [0.5]]), [2000])
    assert (law[0], law[2000]) == pytest.approx((1 / 3, 1 / 3), abs=1e-12)
    assert law[1000] == pytest.approx(0.0178390111 / 3, abs=1e-9)  # C(2000, 1000) / 2**2000
    assert law[100] == law[1900] == 0
