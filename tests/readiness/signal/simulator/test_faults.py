"""The simulator's faults, troubles and files: each does what physics lets it, and no more."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from readiness.signal.catalogue import CATALOGUE
from readiness.signal.readers import read_capture
from readiness.signal.simulator.captures import (
    KINDS,
    Fault,
    Setup,
    band_noise_uv,
    csv_bytes,
    draw_fault,
    draw_setup,
    edf_bytes,
    simulate,
)
from tests.readiness.signal.spectra import band_rms, hum_uv

NO_MAINS = {"lead_na": 0.0, "bar_na": 0.0, "body_na": 0.0, "loop_uv": 0.0}


def test_an_open_ground_shows_only_as_hum_that_rejection_lets_through() -> None:
    fault = (Fault("open_lead", np.inf, "ground"),)
    same = {
        "input_mismatch": 0.0,
        "lead_kohm": (2.0, 2.0),
        "loop_uv": 0.0,
        "movement_uv": 1e-6,
        "lead_na": 0.0,
    }
    perfect = Setup(rate_hz=2048, cmrr_db=300.0, **same)
    real = replace(perfect, cmrr_db=85.0)
    level = {
        name: hum_uv(simulate("flex", setup, faults).capture.emg.samples, 2048, 50.0)
        for name, setup, faults in (
            ("perfect", perfect, fault),
            ("real", real, fault),
            ("sound", real, ()),
        )
    }
    assert level["perfect"] < 0.1
    assert level["real"] > 20 * max(level["sound"], 0.1)


def test_an_open_ground_in_still_is_fainter_than_with_the_bar_in_the_hand() -> None:
    fault = (Fault("open_lead", np.inf, "ground"),)
    setup = Setup(rate_hz=2048, cmrr_db=85.0, loop_uv=0.0)
    still, held = (
        hum_uv(simulate(test, setup, fault).capture.emg.samples, 2048, 50.0)
        for test in ("still", "flex")
    )
    assert still < 0.2 * held


def test_leads_shorted_to_each_other_do_not_show_on_the_bar() -> None:
    setup, fault = Setup(), (Fault("leads_shorted", 0.01, "A+B"),)
    for test in ("still", "flex"):
        sound, shorted = simulate(test, setup).capture, simulate(test, setup, fault).capture
        assert np.array_equal(sound.emg.samples, shorted.emg.samples)


@pytest.mark.parametrize(("pair", "quiet"), [("A+B", "AB"), ("A+ground", "A"), ("B+ground", "B")])
def test_a_shorted_lead_does_not_react_when_lifted(pair: str, quiet: str) -> None:
    setup = Setup(room="ordinary")
    sound, shorted = (
        simulate("lift", setup),
        simulate("lift", setup, (Fault("leads_shorted", 0.01, pair),)),
    )
    for lead in "AB":
        start, end = sound.truth["windows"][lead]
        level = [
            hum_uv(made.capture.emg.samples, setup.rate_hz, 50.0, start, end)
            for made in (sound, shorted)
        ]
        if lead in quiet:
            assert level[1] < 0.01 * level[0]
        else:
            assert level[1] > 0.3 * level[0]


def test_an_open_lead_that_pins_the_first_stage_looks_quieter_than_a_sound_one() -> None:
    setup = Setup(rate_hz=1024, bits=24, **NO_MAINS)
    sound = simulate("still", setup).capture.emg.samples
    pinned = simulate(
        "still", setup, (Fault("open_lead", np.inf, "A", variant="pinned"),)
    ).capture.emg.samples
    # A Hann window keeps the slow drift of the floating input out of the band.
    level = [band_rms(x * np.hanning(len(x)), 1024, 60, 400) for x in (pinned, sound)]
    assert level[0] < 0.5 * level[1]


def test_a_leak_shows_by_its_ohms_when_a_lead_is_lifted_and_never_on_the_bar() -> None:
    setup = Setup(rate_hz=2048, lead_kohm=(0.05, 0.05), lead_na=5.0, loop_uv=0.0, body_na=0.0)
    leaks = {kohm: (Fault("leaking_leads", kohm, "A+B"),) for kohm in (1.0, 10.0, 100.0)}
    flexes = [simulate("flex", setup, faults).capture for faults in ((), leaks[1.0])]
    assert np.array_equal(flexes[0].emg.samples, flexes[1].emg.samples)
    level = {}
    for kohm, faults in ((0.0, ()), *leaks.items()):
        made = simulate("lift", setup, faults)
        start, end = made.truth["windows"]["A"]
        level[kohm] = hum_uv(made.capture.emg.samples, 2048, 50.0, start + 0.6, end - 0.7)
    # The same current through a tenth of the ohms; an open input goes to the end of its range.
    assert level[100.0] == pytest.approx(10 * level[10.0], rel=0.3)
    assert level[1.0] < 0.2 * level[10.0]
    assert level[0.0] > 10 * level[100.0]


@pytest.mark.parametrize("lead", ["A", "B", "ground"])
def test_strands_that_part_but_for_some_kilohms_hum_only_while_bent(lead: str) -> None:
    setup = Setup(lead_kohm=(0.05, 0.05), lead_na=5.0, loop_uv=0.0, cmrr_db=60.0)
    fault = (Fault("resistive_lead", 500.0, lead, count=3),)
    for test in ("still", "lift"):
        made = [simulate(test, setup, faults).capture.emg.samples for faults in ((), fault)]
        assert np.array_equal(*made)
    made = simulate("flex", setup, fault)
    start, end = made.truth["windows"][lead]
    inside = hum_uv(made.capture.emg.samples, 1024, 50.0, start, min(end, 10.0))
    assert inside > 5 * hum_uv(made.capture.emg.samples, 1024, 50.0, 0.1, 2.4)


@pytest.mark.parametrize(("pair", "moved"), [("A+ground", "A"), ("B+ground", "B")])
def test_swapped_sockets_take_each_act_to_the_socket_of_the_plug(pair: str, moved: str) -> None:
    fault = (Fault("swapped_sockets", 1.0, pair),)
    for test in ("still", "flex", "lift"):
        sound, swapped = (simulate(test, Setup(), faults).truth for faults in ((), fault))
        if test != "still":
            assert swapped["windows"][moved] == sound["windows"]["ground"]
            assert swapped["windows"]["ground"] == sound["windows"][moved]
    # On the second post the resistor of snap A stands in the ground, where it adds no noise.
    noise = [
        band_rms(simulate("ground", Setup(**NO_MAINS), faults).capture.emg.samples, 1024, 60, 400)
        for faults in ((), fault)
    ]
    assert (noise[1] < 0.8 * noise[0]) == (pair == "A+ground")


def test_a_wearers_signal_halves_where_the_ground_sits_on_a_wrist() -> None:
    setup = Setup(movement_uv=1e-6, **NO_MAINS)
    level = {
        pair: band_rms(
            simulate("worn", setup, (Fault(kind, 1.0, pair),)).capture.emg.samples[6000:],
            1024,
            60,
            400,
        )
        for kind, pair in (("swapped_sockets", "A+ground"), ("leaking_leads", "A+B"))
    }
    whole = band_rms(simulate("worn", setup).capture.emg.samples[6000:], 1024, 60, 400)
    assert level["A+ground"] == pytest.approx(whole / 2, rel=0.1)
    assert level["A+B"] < 0.1 * whole


@pytest.mark.parametrize("lead", ["A", "B", "ground"])
def test_an_intermittent_lead_opens_only_in_its_own_flex_window(lead: str) -> None:
    fault = (Fault("intermittent_lead", 0.01, lead, count=5),)
    for seed in range(5):
        setup = replace(draw_setup(np.random.default_rng(seed)), seed=seed)
        made = simulate("flex", setup, fault)
        start, end = made.truth["windows"][lead]
        assert made.truth["events"]
        assert all(
            at == lead and start <= on < off <= min(end, 10.0)
            for at, on, off in made.truth["events"]
        )
        assert simulate("still", setup, fault).truth["events"] == []


def test_an_open_of_lead_a_has_edges_that_movement_has_not() -> None:
    setup = Setup(rate_hz=2048, room="quiet", lead_na=0.1)
    steps = [
        np.abs(np.diff(simulate("flex", setup, faults).capture.emg.samples)).max()
        for faults in ((), (Fault("intermittent_lead", 0.05, "A"),))
    ]
    assert steps[1] > 10 * steps[0]


def test_movement_of_sound_leads_is_tens_of_microvolts_and_slow() -> None:
    setup = Setup(rate_hz=1000, movement_uv=30.0, movement_hz=6.0, high_pass_hz=0.0, **NO_MAINS)
    x = simulate("flex", setup).capture.emg.samples[2700:7300]
    assert 15 < band_rms(x, 1000, 0.3, 20) < 45
    assert band_rms(x * np.hanning(len(x)) * 1.633, 1000, 25, 400) < 1.15 * band_noise_uv(
        setup, (25, 400)
    )


def test_a_wrong_time_base_moves_the_mains_line() -> None:
    setup = Setup(rate_hz=1000, loop_uv=20.0, mains_sway=0.0)
    x = simulate("still", setup, (Fault("time_base", 0.02),)).capture.emg.samples
    assert len(x) == 10_000
    assert hum_uv(x, 1000, 50 / 1.02) == pytest.approx(20.0, rel=0.1)
    assert hum_uv(x, 1000, 50.0) < 1.0


def test_stuck_bits_rails_and_scale_show_in_the_codes() -> None:
    setup = Setup(bits=12, full_scale_uv=1000.0)
    step = setup.step_uv
    codes = (
        simulate("lift", setup, (Fault("stuck_bits", 1, variant="high"),)).capture.emg.samples
        / step
    )
    assert set(np.rint(codes).astype(int) & 2) == {2}
    assert set(simulate("still", setup, (Fault("saturated", 1.5),)).capture.emg.samples) == {
        1000.0 - step
    }
    clipped = simulate("still", setup, (Fault("clipped", -0.5),)).capture.emg.samples
    assert 0.2 < np.mean(clipped == -1000.0) < 0.9
    small = simulate("still", setup, (Fault("wrong_scale", 1e-3),)).capture.emg
    assert small.samples == pytest.approx(simulate("still", setup).capture.emg.samples / 1000)
    assert small.resolution == pytest.approx(step / 1000)


def test_missing_samples_are_holes_with_a_note() -> None:
    capture = simulate(
        "still", Setup(rate_hz=1000), (Fault("missing_samples", 0.1, count=1),)
    ).capture
    assert len(capture.emg.samples) == 10_000
    assert np.isnan(capture.emg.samples).sum() == pytest.approx(100, abs=1)
    assert [note.code for note in capture.notes] == ["missing_samples"]


@pytest.mark.parametrize("battery_channel", [True, False])
def test_written_files_read_back_to_the_same_capture(battery_channel: bool) -> None:
    setup = Setup(rate_hz=1000, bits=24, full_scale_uv=8388.608, battery_channel=battery_channel)
    made = simulate("lift", setup, kit="K0014E")
    for name, data in (("a.csv", csv_bytes(made)), ("a.bdf", edf_bytes(made))):
        read = read_capture(name, data)
        assert (read.test, read.kit, read.mains_hz, read.rate_hz) == (
            "lift",
            "K0014E",
            50.0,
            1000.0,
        )
        assert read.emg.samples == pytest.approx(made.capture.emg.samples, abs=0.6 * setup.step_uv)
        assert read.battery_v[-1] == pytest.approx(made.capture.battery_v[-1], abs=0.006)


def test_battery_under_load_follows_ohms_law() -> None:
    setup = Setup(
        emf_v=1.30, battery_ohm=0.25, load_ma=200.0
    )  # row B10: 1.30 V open, 1.25 V at 200 mA, 0.25 ohm
    volts = simulate("still", setup).capture.battery_v
    assert volts[0] == pytest.approx(1.25, abs=0.005)
    sag = simulate("still", Setup(), (Fault("battery_sagging", 0.4),)).capture.battery_v
    assert sag[0] - sag[-1] == pytest.approx(0.4, abs=0.011)
    assert simulate("still", setup, (Fault("battery_missing"),)).capture.battery_v is None


def _each_in_each() -> list[object]:
    """Every kind in every test; by day a third of it, another one for each kind."""
    return [
        pytest.param(test, kind, marks=[] if (number + row) % 3 == 0 else pytest.mark.night)
        for row, kind in enumerate(KINDS)
        for number, test in enumerate(CATALOGUE)
    ]


@pytest.mark.slow
@pytest.mark.parametrize(("test", "kind"), _each_in_each())
def test_every_fault_in_every_test_gives_a_capture_on_its_grid(kind: str, test: str) -> None:
    rng = np.random.default_rng(KINDS.index(kind))
    setup, fault = draw_setup(rng), draw_fault(kind, rng)
    made = simulate(test, setup, (fault,), np.random.default_rng(1))
    emg = made.capture.emg
    assert np.isfinite(emg.samples).all() == (kind != "missing_samples")
    codes = emg.samples[np.isfinite(emg.samples)] / emg.resolution
    assert codes == pytest.approx(np.rint(codes), abs=1e-6)
    assert made.capture.duration_s == pytest.approx(10.0)


@pytest.mark.parametrize("test", CATALOGUE)
def test_the_same_generator_gives_the_same_capture(test: str) -> None:
    fault = (Fault("intermittent_lead", 0.02, "B", count=3), Fault("missing_samples", 0.05))
    one, again = (
        simulate(test, Setup(), fault, np.random.default_rng(1)).capture.emg.samples
        for _ in range(2)
    )
    assert np.array_equal(one, again, equal_nan=True)


def test_nonsense_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="'dance'"):
        simulate("dance", Setup())
    with pytest.raises(ValueError, match="'gremlins'"):
        Fault("gremlins")
    with pytest.raises(ValueError, match="needs lead"):
        Fault("open_lead")
    with pytest.raises(ValueError, match="A\\+B"):
        Fault("leads_shorted", lead="A")
    with pytest.raises(ValueError, match="A\\+ground"):
        Fault("swapped_sockets", lead="A+B")
