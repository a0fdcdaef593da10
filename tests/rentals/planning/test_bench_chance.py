import numpy as np
import pytest

from rentals.planning.bench_chance import BenchRecord

pytestmark = pytest.mark.any_database


def test_the_record_takes_over_from_the_usual_share():
    assert BenchRecord().mean == pytest.approx(0.8)
    assert BenchRecord(95, 5).mean == pytest.approx(99 / 105)
    assert BenchRecord(19, 1).rounds == 20


def test_few_kits_leave_the_share_open():
    rng = np.random.default_rng(1)
    few, many = BenchRecord(4, 0).draw(rng, 4000), BenchRecord(400, 20).draw(rng, 4000)
    assert few.std() > 5 * many.std()
    assert many.mean() == pytest.approx(404 / 425, abs=0.002)
