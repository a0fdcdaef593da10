import numpy as np
import pytest

from rentals.planning.shared_lateness import (
    SHARED_GRID,
    RunTable,
    design_effect,
    draw_factors,
    unshared_wait,
    weights_of_shared,
)

pytestmark = pytest.mark.any_database


def runs_with(shared, runs=60, size=10, seed=4):
    """Waits over all runs of kits whose runs have factors of that variance."""
    rng = np.random.default_rng(seed)
    factor = rng.gamma(1 / shared, shared, runs)[:, None] if shared else np.ones((runs, 1))
    own = rng.exponential(1, (runs, size)) / factor
    waited = np.log1p(shared * own) / shared if shared else own
    return RunTable(waited.ravel(), np.ones(runs * size, bool), np.repeat(np.arange(runs), size))


@pytest.mark.parametrize("shared", [0.0, 0.3, 1.0])
def test_what_runs_share_is_found_again(shared):
    mean = SHARED_GRID @ weights_of_shared(runs_with(shared))
    assert mean == pytest.approx(shared, abs=0.05 + 0.3 * shared)


def test_without_loans_the_usual_spread_is_assumed():
    nothing = np.array([])
    weights = weights_of_shared(RunTable(nothing, nothing, nothing))
    assert weights.sum() == pytest.approx(1)
    assert SHARED_GRID @ weights == pytest.approx(0.35, abs=0.1)


def test_loans_of_one_run_count_for_fewer():
    assert design_effect(np.repeat([1, 2], 10), 0.0) == pytest.approx(1)
    assert design_effect(np.repeat([1, 2], 10), 2.0) == pytest.approx(1 + 9 / 2)
    assert design_effect(np.arange(20), 2.0) == pytest.approx(1)


def test_a_run_that_came_back_quickly_has_a_large_factor():
    rng = np.random.default_rng(1)
    shared = np.full(4000, 0.5)
    assert draw_factors(0, np.zeros(4000), shared, rng).mean() == pytest.approx(1, abs=0.05)
    quick = draw_factors(8, np.full(4000, 3.0), shared, rng)
    slow = draw_factors(1, np.full(4000, 6.0), shared, rng)
    assert quick.mean() == pytest.approx(2, abs=0.05)
    assert slow.mean() == pytest.approx(3 / 8, abs=0.05)


def test_the_wait_over_all_runs_is_the_mean_over_their_factors():
    """Averaged over gamma factors, the shares still out are those of the curve over all runs."""
    rng = np.random.default_rng(2)
    factor = rng.gamma(2.0, 0.5, 200_000)
    for waited in (0.2, 1.0, 3.0):
        own = unshared_wait(np.array([waited]), np.array([0.5]))
        assert np.exp(-factor * own).mean() == pytest.approx(np.exp(-waited), abs=3e-3)
