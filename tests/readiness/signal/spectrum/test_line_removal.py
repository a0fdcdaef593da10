"""Lines are taken out of frames, and what lies beside them stays."""

import numpy as np
import pytest

from readiness.signal.spectrum.line_removal import (
    LineFits,
    around,
    stand_out,
    take_out,
    wavers,
    widen,
)

SIZE = 1024
T = np.arange(SIZE)
HANN = 0.5 - 0.5 * np.cos(2 * np.pi * T / SIZE)
HZ = np.arange(201.0)


def frames(*signals: np.ndarray) -> np.ndarray:
    return np.fft.rfft(np.stack(signals) * HANN)


@pytest.mark.parametrize("centre", [50.0, 50.37, 3.2])
def test_a_line_that_drifts_goes_and_its_neighbourhood_stays(centre):
    noise = np.random.default_rng(1).normal(0, 1, SIZE)
    line = (200 + 40 * T / SIZE) * np.sin(2 * np.pi * centre * T / SIZE + 0.4)
    spectra, alone = frames(noise + line), frames(noise)
    changed = take_out(spectra, np.array([centre]), SIZE)
    assert len(changed) == 1
    beside = slice(int(centre) + 6, int(centre) + 40)
    left = np.abs(spectra[0, beside] - alone[0, beside])
    assert left.max() < 3 * np.abs(alone[0]).std()


def test_what_fits_a_line_in_one_spectrum_fits_it_in_the_next():
    rng = np.random.default_rng(3)
    once, again = (frames(rng.normal(0, 1, (1, SIZE))[0] + np.sin(0.7 * T)) for _ in range(2))
    alone, fits = again.copy(), LineFits(SIZE)
    centre = 0.7 * SIZE / (2 * np.pi)
    take_out(once, np.array([centre]), SIZE, fits)
    take_out(again, np.array([40.3, centre]), SIZE, fits)
    take_out(alone, np.array([40.3, centre]), SIZE)
    np.testing.assert_array_equal(again, alone)


def test_a_place_beyond_the_spectrum_is_left_alone():
    spectra = frames(np.ones(SIZE))
    before = spectra.copy()
    assert take_out(spectra, np.array([SIZE / 2 + 3.0]), SIZE) == []
    np.testing.assert_array_equal(spectra, before)


def test_only_a_strong_line_leaks_beyond_its_guard():
    raw = np.ones(len(HZ))
    raw[50], raw[100] = 100.0, 5.0
    bins, distance = around(HZ, np.array([50.0, 100.0]))
    assert stand_out(raw, bins, distance).tolist() == [True, False]


def test_a_line_that_wavers_gets_a_wider_guard_as_far_as_it_reaches():
    density = np.ones(len(HZ))
    density[(HZ > 51) & (HZ < 55)] = 4.0
    density[(HZ < 49) & (HZ > 45)] = 4.0
    usable = np.abs(HZ - 50) > 2
    bins, distance = around(HZ, np.array([50.0, 150.0]))
    assert wavers(usable, density, bins, distance).tolist() == [True, False]
    widen(usable, HZ, density, 50.0)
    assert not usable[(HZ > 46) & (HZ < 54)].any()
    assert usable[60] and usable[40]
    steady = usable.copy()
    widen(usable, HZ, density, 150.0)
    np.testing.assert_array_equal(usable, steady)
