"""The captures' figures of `manage.py speed`: what stands on the bare side, and how the two sides
are timed.
"""

import numpy as np
import pytest
from scipy.signal import welch

from readiness.signal.simulator.captures import Setup, csv_bytes, edf_bytes, simulate
from readiness.signal.study import speed


@pytest.fixture(scope="module")
def made():
    return simulate("flex", Setup(rate_hz=speed.ROWS_HZ, low_pass_hz=500.0), kit="SPEED")


def test_the_bare_side_reads_the_same_samples_and_takes_the_spectrum_as_scipy_sets_it(made):
    samples = made.capture.emg.samples
    assert len(samples) == 20_480
    plain = welch(samples, speed.ROWS_HZ)[1].sum()
    data = csv_bytes(made)
    skip = data[: data.index(b"\n", data.index(b"t_s"))].count(b"\n") + 1
    assert speed._bare_csv(data, skip) == pytest.approx(plain, rel=1e-3)
    assert speed._bare_edf(edf_bytes(made)) == pytest.approx(plain, rel=1e-3)
    second = welch(samples, speed.ROWS_HZ, nperseg=2048)[1].sum()
    assert speed._bare_csv(data, skip, 2048) == pytest.approx(second, rel=1e-3)
    assert not np.isclose(plain, second, rtol=1e-2)


@pytest.mark.parametrize("ratio", [speed.csv_ratio, speed.edf_ratio])
def test_each_ratio_tells_both_sides_and_the_stricter_figure(ratio, monkeypatch):
    done = []

    def in_turn(works, rounds):
        done.extend(work() for work in works)
        return [0.030, 0.020, 0.010]

    monkeypatch.setattr(speed, "_in_turn", in_turn)
    figure = ratio(3)
    assert (figure.goal, figure.at_least) == (1.0, False)
    assert figure.value == pytest.approx(1.5)
    assert figure.detail == "30.0 ms, bare 20.0 ms; 3.00 x with one-second frames"
    assert done[0] == "fit" and all(power > 0 for power in done[1:])


def test_short_files_of_three_tests_are_timed_together(monkeypatch):
    done = []

    def in_turn(works, rounds):
        done.extend(work() for work in works)
        return [0.030, 0.010, 0.024, 0.006]

    monkeypatch.setattr(speed, "_in_turn", in_turn)
    csv, edf = speed.short_ratios(3)
    assert (csv.value, edf.value) == (pytest.approx(3.0), pytest.approx(4.0))
    assert (csv.detail, edf.detail) == ("10.0 ms each, bare 3.3 ms", "8.0 ms each, bare 2.0 ms")
    assert done[0] == done[2] == ["fit"] * 3
    assert done[1] == pytest.approx(done[3], rel=1e-3) and min(done[1]) > 0


def test_every_work_is_done_once_to_warm_up_and_then_in_turn():
    order = []
    times = speed._in_turn(
        [lambda: order.append("a"), lambda: order.append("b"), lambda: order.append("c")], 2
    )
    assert "".join(order) == "abc" * 3
    assert len(times) == 3 and all(0 <= each < 1 for each in times)
