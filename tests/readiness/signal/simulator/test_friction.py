"""Charge that a bent cable lets go."""

import numpy as np
import pytest

from readiness.signal.catalogue import CATALOGUE
from readiness.signal.simulator.captures import Fault, Setup, simulate
from readiness.signal.simulator.friction import rubbed_na
from readiness.signal.simulator.script import write_script
from readiness.signal.simulator.sources import Clock

pytestmark = pytest.mark.any_database

CLOCK = Clock(2000.0, 4, 1.0, 10.2)
RUBS = (Fault("friction_spikes", 20.0, count=5),)


def rubbed(test):
    script = write_script(CATALOGUE[test], Setup(), RUBS, np.random.default_rng(1))
    return script, rubbed_na(CLOCK, script, RUBS, np.random.default_rng(1))


def test_only_bent_leads_rub_and_each_release_holds_at_most_its_charge():
    assert rubbed("still")[1] == rubbed("lift")[1] == {}
    script, current = rubbed("flex")
    # nA over seconds: twenty picocoulombs are 0.02.
    for lead in "AB":
        start, _ = script.windows["A"]
        assert not current[lead][CLOCK.t < start].any()
        released = np.abs(current[lead]).sum() / CLOCK.rate_hz
        assert 0.1 * 5 * 0.02 < released <= 5 * 0.02 * 1.6


def test_a_sound_cable_gives_microvolts_on_the_bar_and_stays_sound():
    setup = Setup(rate_hz=2000, loop_uv=0.0, lead_na=0.0, body_na=0.0, movement_uv=1e-6)
    plain, rough = (simulate("flex", setup, faults) for faults in ((), RUBS))
    assert rough.truth["sound"]
    added = rough.capture.emg.samples[5600:] - np.median(rough.capture.emg.samples)
    quiet = plain.capture.emg.samples[5600:] - np.median(plain.capture.emg.samples)
    assert 4 * np.abs(quiet).max() < np.abs(added).max() < 200
