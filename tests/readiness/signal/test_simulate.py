"""The bench model against theory: rows N2 to N8, N20, N21, S5, S6 and B10 of the table of published check values."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import chi2

from readiness.signal.bench import converter
from readiness.signal.bench.network import Network, through_lead
from readiness.signal.bench.parameters import amplifier_gain, thermal_density_nv
from readiness.signal.bench.script import Script
from readiness.signal.bench.sources import Clock, Mains, flicker
from readiness.signal.capture import TESTS
from readiness.signal.simulate import (
    KINDS,
    Bench,
    Fault,
    band_noise_uv,
    draw_bench,
    draw_fault,
    scaled_limit_uv,
    simulate,
    with_noise,
)

NO_MAINS = {"lead_na": 0.0, "bar_na": 0.0, "body_na": 0.0, "loop_uv": 0.0}
FLAT = {"high_pass_hz": 0.0, "low_pass_hz": 900.0, "low_pass_order": 8, "flicker_corner_hz": 0.0, "bits": 24}


def band_rms(x: np.ndarray, rate_hz: float, low: float, high: float) -> float:
    """RMS between two frequencies by the plain periodogram (Parseval, row N7)."""
    freq = np.fft.rfftfreq(len(x), 1 / rate_hz)
    power = np.abs(np.fft.rfft(x)) ** 2
    return float(np.sqrt(2 * power[(freq >= low) & (freq < high)].sum()) / len(x))


def hum_uv(x: np.ndarray, rate_hz: float, hz: float, start_s: float = 0.0, end_s: float = 10.0) -> float:
    """Peak of the line at ``hz`` by a Hann-weighted correlation."""
    piece = x[int(start_s * rate_hz) : int(end_s * rate_hz)]
    window = np.hanning(len(piece))
    turn = np.exp(-2j * np.pi * hz * np.arange(len(piece)) / rate_hz)
    return float(2 * abs(((piece - piece.mean()) * window * turn).sum()) / window.sum())


@pytest.mark.parametrize(
    ("ohm", "kelvin", "band_hz", "uv"),
    [
        (10e3, 300.0, 480.0, 0.28200),  # row N3
        (10e3, 293.15, 430.0, 0.26385),
        (2e3, 298.15, 480.0, 0.12573),
        (1e3, 300.0, 1.0, 4.0704e-3),  # row N2
    ],
)
def test_thermal_noise_of_the_leads_is_nyquists(ohm: float, kelvin: float, band_hz: float, uv: float) -> None:
    bench = Bench(lead_kohm=(ohm / 2e3, ohm / 2e3), bar_ohm=0.0, temperature_k=kelvin)
    assert thermal_density_nv(bench) * 1e-3 * np.sqrt(band_hz) == pytest.approx(uv, rel=1e-4)


@pytest.mark.parametrize(
    ("bits", "range_mv", "step_uv", "rms_uv"), [(12, 5, 1.220703, 0.352387), (16, 10, 0.152588, 0.0440483)]
)
def test_quantisation_error_is_a_step_over_root_twelve(
    bits: int, range_mv: float, step_uv: float, rms_uv: float
) -> None:
    bench = Bench(bits=bits, full_scale_uv=500.0 * range_mv)  # row N5
    x = np.random.default_rng(5).uniform(-400, 400, 200_000)
    assert bench.step_uv == pytest.approx(step_uv, rel=1e-5)
    error = converter.convert(bench, x, ()) - x
    # Relative standard deviation of the RMS of a uniform error: 0.45 / sqrt(n) = 0.1 %; four of them.
    assert np.sqrt(np.mean(error**2)) == pytest.approx(rms_uv, rel=0.004)


def test_true_noise_of_a_white_amplifier_is_density_times_root_band() -> None:
    bench = Bench(rate_hz=2048, noise_density_nv=50, lead_kohm=(0, 0), bar_ohm=0, second_stage_nv=0, **FLAT)
    assert band_noise_uv(bench) == pytest.approx(1.03682, rel=1e-3)  # row N6: 50 nV, 430 Hz


def test_white_noise_has_the_density_it_was_asked_for() -> None:
    clock = Clock(1000.0, 1, 0.0, 100.0)
    x = clock.white(np.random.default_rng(2), 1e3 * np.sqrt(0.002))
    # Row N8: variance 1 at 1000 Hz is 0.002 per hertz, 0.927362 RMS in 20 to 450 Hz; 1/(2 sqrt(BT)) = 0.24 % (N17).
    assert x.std() == pytest.approx(1.0, abs=0.01)
    assert band_rms(x, 1000.0, 20, 450) == pytest.approx(0.927362, rel=0.01)


def test_flicker_noise_doubles_in_power_at_its_corner() -> None:
    clock = Clock(1024.0, 1, 0.0, 400.0)
    x = flicker(clock, np.random.default_rng(8), 100.0, 20.0)
    at_corner, far = band_rms(x, 1024.0, 19, 21) ** 2 / 2, band_rms(x, 1024.0, 300, 500) ** 2 / 200
    assert at_corner / far == pytest.approx(2.0, rel=0.15)


@pytest.mark.parametrize("rate_hz", [256.0, 1000.0, 4096.0])
@pytest.mark.parametrize("bits", [12, 24])
def test_shorted_inputs_show_thermal_amplifier_and_quantisation_noise(rate_hz: float, bits: int) -> None:
    bench = Bench(rate_hz=rate_hz, bits=bits, full_scale_uv=1200.0, low_pass_hz=0.4 * rate_hz, **NO_MAINS)
    low, high = bench.band_hz
    power = [
        band_rms(simulate("still", replace(bench, seed=seed)).capture.emg.samples, rate_hz, low, high) ** 2
        for seed in range(6)
    ]
    # Row N17: 2 B T degrees of freedom in each of six captures.
    dof = 2 * (high - low) * 10 * len(power)
    least, most = chi2.ppf((0.0005, 0.9995), dof) / dof
    assert least < np.mean(power) / band_noise_uv(bench) ** 2 < most


def test_high_pass_is_a_second_order_butterworth() -> None:
    bench = Bench(high_pass_hz=20.0, low_pass_hz=1e9)
    level = 20 * np.log10(np.abs(amplifier_gain(bench, np.array([5.0, 10.0, 20.0, 40.0]))))
    assert level == pytest.approx([-24.0993, -12.3045, -3.0103, -0.2633], abs=1e-3)  # row N20


@pytest.mark.parametrize(("order", "factor"), [(1, 1.570796), (2, 1.110721), (3, 1.047198), (4, 1.026172)])
def test_low_pass_has_the_noise_bandwidth_of_its_order(order: int, factor: float) -> None:
    freq = np.linspace(0, 2000, 2_000_001)
    bench = Bench(high_pass_hz=0.0, low_pass_hz=1.0, low_pass_order=order)
    # Row N21; beyond 2000 corners a first-order filter keeps 1/2000 of a corner.
    assert np.trapezoid(np.abs(amplifier_gain(bench, freq)) ** 2, freq) == pytest.approx(factor, abs=6e-4)


def test_unequal_leads_turn_common_mode_into_difference() -> None:
    rate = 8192.0
    one_volt = 1e6 * np.sin(2 * np.pi * 50 * np.arange(8192) / rate)
    # Row S6: 10 kohm against 100 Mohm, 1 V -> 100 uV. Row S5: 100 kohm into 10 Mohm loses 0.990 % (first order: 1 %).
    difference = one_volt - through_lead(one_volt, 10.0, 100.0, 0.0, rate)
    assert np.abs(difference).max() == pytest.approx(100.0, rel=1e-6)
    assert np.abs(through_lead(one_volt, 100.0, 10.0, 0.0, rate)).max() / 1e6 == pytest.approx(1 - 0.0099, abs=2e-4)


def test_rejection_of_100_db_leaves_10_uv_of_a_volt() -> None:
    clock = Clock(2048.0, 4, 0.0, 4.0)
    bench = Bench(cmrr_db=100.0, cmrr_phase_deg=0.0, noise_density_nv=0, lead_kohm=(0, 0), bar_ohm=0)
    volt = 1e6 * np.sin(2 * np.pi * 50 * clock.t)
    x = converter.first_stage(clock, bench, volt, volt, np.random.default_rng(0))
    assert x.max() == pytest.approx(10.0, rel=1e-3)  # row S6


def network(bench: Bench, script: Script, faults: tuple[Fault, ...] = ()) -> tuple[Clock, Network]:
    rng = np.random.default_rng(4)
    clock = Clock(bench.rate_hz, 8, 2.0, 10.5)
    return clock, Network(clock, Mains(clock, bench, rng), bench, script, faults, rng)


def test_noise_of_a_floating_input_is_kt_over_c() -> None:
    bench = Bench(bias_pa=0.0, input_mohm=300.0, input_pf=80.0, temperature_k=298.15)
    _, net = network(bench, Script())
    x = net._float_noise(bench.input_mohm, bench.input_pf)
    # sqrt(kT/C) = 7.17 uV whatever the resistance (Nyquist 1928; the form kT/C from memory).
    assert x.std() == pytest.approx(1e6 * np.sqrt(1.380649e-23 * 298.15 / 80e-12), rel=0.15)


def test_an_input_left_floating_charges_with_r_times_c() -> None:
    bench = Bench(input_mohm=200.0, input_pf=100.0, input_mismatch=0.0, bias_pa=500.0, temperature_k=1e-9, **NO_MAINS)
    script = Script(held=True)
    script.open["A"] = [(3.0, 4.0)]
    clock, net = network(bench, script)
    a, b = net.inputs()
    k = clock.index(3.0) + round(0.02 * clock.rate_hz)  # one time constant of 20 ms
    # 500 pA in 200 Mohm is 100 mV; the drift of a floating input adds up to 2 % of that and 30 uV, in RMS.
    assert a[k] == pytest.approx(1e5 * (1 - np.exp(-1)), rel=0.08)
    assert a[clock.index(4.0) + 1] == pytest.approx(b[clock.index(4.0) + 1], abs=1e-6)


def test_an_open_ground_shows_only_as_hum_that_rejection_lets_through() -> None:
    fault = (Fault("open_lead", np.inf, "ground"),)
    same = {"input_mismatch": 0.0, "lead_kohm": (2.0, 2.0), "loop_uv": 0.0, "movement_uv": 1e-6, "lead_na": 0.0}
    perfect = Bench(rate_hz=2048, cmrr_db=300.0, **same)
    real = replace(perfect, cmrr_db=85.0)
    level = {
        name: hum_uv(simulate("flex", bench, faults).capture.emg.samples, 2048, 50.0)
        for name, bench, faults in (
            ("perfect", perfect, fault),
            ("real", real, fault),
            ("sound", real, ()),
        )
    }
    assert level["perfect"] < 0.1
    assert level["real"] > 20 * max(level["sound"], 0.1)


def test_an_open_ground_in_still_is_fainter_than_with_the_bar_in_the_hand() -> None:
    fault = (Fault("open_lead", np.inf, "ground"),)
    bench = Bench(rate_hz=2048, cmrr_db=85.0, loop_uv=0.0)
    still, held = (hum_uv(simulate(test, bench, fault).capture.emg.samples, 2048, 50.0) for test in ("still", "flex"))
    assert still < 0.2 * held


def test_leads_shorted_to_each_other_do_not_show_on_the_bar() -> None:
    bench, fault = Bench(), (Fault("leads_shorted", 0.01, "A+B"),)
    for test in ("still", "flex"):
        sound, shorted = simulate(test, bench).capture, simulate(test, bench, fault).capture
        assert np.array_equal(sound.emg.samples, shorted.emg.samples)


@pytest.mark.parametrize(("pair", "quiet"), [("A+B", "AB"), ("A+ground", "A"), ("B+ground", "B")])
def test_a_shorted_lead_does_not_react_when_lifted(pair: str, quiet: str) -> None:
    bench = Bench(room="ordinary")
    sound, shorted = simulate("lift", bench), simulate("lift", bench, (Fault("leads_shorted", 0.01, pair),))
    for lead in "AB":
        start, end = sound.truth["windows"][lead]
        level = [hum_uv(made.capture.emg.samples, bench.rate_hz, 50.0, start, end) for made in (sound, shorted)]
        if lead in quiet:
            assert level[1] < 0.01 * level[0]
        else:
            assert level[1] > 0.3 * level[0]


def test_an_open_lead_that_pins_the_first_stage_looks_quieter_than_a_sound_one() -> None:
    bench = Bench(rate_hz=1024, bits=24, **NO_MAINS)
    sound = simulate("still", bench).capture.emg.samples
    pinned = simulate("still", bench, (Fault("open_lead", np.inf, "A", variant="pinned"),)).capture.emg.samples
    # A Hann window keeps the slow drift of the floating input out of the band.
    level = [band_rms(x * np.hanning(len(x)), 1024, 60, 400) for x in (pinned, sound)]
    assert level[0] < 0.5 * level[1]


@pytest.mark.parametrize("lead", ["A", "B", "ground"])
def test_an_intermittent_lead_opens_only_in_its_own_flex_window(lead: str) -> None:
    fault = (Fault("intermittent_lead", 0.01, lead, count=5),)
    for seed in range(5):
        bench = replace(draw_bench(np.random.default_rng(seed)), seed=seed)
        made = simulate("flex", bench, fault)
        start, end = made.truth["windows"][lead]
        assert made.truth["events"]
        assert all(at == lead and start <= on < off <= min(end, 10.0) for at, on, off in made.truth["events"])
        assert simulate("still", bench, fault).truth["events"] == []


def test_an_open_of_lead_a_has_edges_that_movement_has_not() -> None:
    bench = Bench(rate_hz=2048, room="quiet", lead_na=0.1)
    steps = [
        np.abs(np.diff(simulate("flex", bench, faults).capture.emg.samples)).max()
        for faults in ((), (Fault("intermittent_lead", 0.05, "A"),))
    ]
    assert steps[1] > 10 * steps[0]


def test_movement_of_sound_leads_is_tens_of_microvolts_and_slow() -> None:
    bench = Bench(rate_hz=1000, movement_uv=30.0, movement_hz=6.0, high_pass_hz=0.0, **NO_MAINS)
    x = simulate("flex", bench).capture.emg.samples[2700:7300]
    assert 15 < band_rms(x, 1000, 0.3, 20) < 45
    assert band_rms(x * np.hanning(len(x)) * 1.633, 1000, 25, 400) < 1.15 * band_noise_uv(bench, (25, 400))


def test_a_wrong_time_base_moves_the_mains_line() -> None:
    bench = Bench(rate_hz=1000, loop_uv=20.0, mains_sway=0.0)
    x = simulate("still", bench, (Fault("time_base", 0.02),)).capture.emg.samples
    assert len(x) == 10_000
    assert hum_uv(x, 1000, 50 / 1.02) == pytest.approx(20.0, rel=0.1)
    assert hum_uv(x, 1000, 50.0) < 1.0


def test_stuck_bits_rails_and_scale_show_in_the_codes() -> None:
    bench = Bench(bits=12, full_scale_uv=1000.0)
    step = bench.step_uv
    codes = simulate("lift", bench, (Fault("stuck_bits", 1, variant="high"),)).capture.emg.samples / step
    assert set(np.rint(codes).astype(int) & 2) == {2}
    assert set(simulate("still", bench, (Fault("saturated", 1.5),)).capture.emg.samples) == {1000.0 - step}
    clipped = simulate("still", bench, (Fault("clipped", -0.5),)).capture.emg.samples
    assert 0.2 < np.mean(clipped == -1000.0) < 0.9
    small = simulate("still", bench, (Fault("wrong_scale", 1e-3),)).capture.emg
    assert small.samples == pytest.approx(simulate("still", bench).capture.emg.samples / 1000)
    assert small.resolution == pytest.approx(step / 1000)


def test_missing_samples_leave_a_gap_in_the_time_channel() -> None:
    capture = simulate("still", Bench(rate_hz=1000), (Fault("missing_samples", 0.1, count=1),)).capture
    time = capture.channels[0].samples
    assert len(time) == len(capture.emg.samples) == 10_000 - 101
    assert np.diff(time).max() == pytest.approx(0.102, abs=1.5e-3)
    assert [note.code for note in capture.notes] == ["missing_samples"]


def test_battery_under_load_follows_ohms_law() -> None:
    bench = Bench(emf_v=1.30, battery_ohm=0.25, load_ma=200.0)  # row B10: 1.30 V open, 1.25 V at 200 mA, 0.25 ohm
    volts = simulate("still", bench).capture.battery_v
    assert volts[0] == pytest.approx(1.25, abs=0.005)
    sag = simulate("still", Bench(), (Fault("battery_sagging", 0.4),)).capture.battery_v
    assert sag[0] - sag[-1] == pytest.approx(0.4, abs=0.011)
    assert simulate("still", bench, (Fault("battery_missing"),)).capture.battery_v is None


def test_noise_can_be_set_and_refuses_to_go_below_physics() -> None:
    bench = with_noise(Bench(), 1.5)
    assert band_noise_uv(bench) == pytest.approx(1.5)
    with pytest.raises(ValueError, match="below"):
        with_noise(Bench(), 0.05)
    loud = simulate("still", bench, (Fault("excess_noise", 1.3),))
    assert loud.truth["noise_uv"] == pytest.approx(1.3 * scaled_limit_uv(bench))


@pytest.mark.parametrize("spread", [1.0, 2.0])
def test_drawn_sound_benches_stay_below_the_limit_and_dither_their_converter(spread: float) -> None:
    rng = np.random.default_rng(11)
    for _ in range(150):
        bench = draw_bench(rng, spread)
        noise = band_noise_uv(bench)
        assert 0.05 * scaled_limit_uv(bench) < noise < 0.95 * scaled_limit_uv(bench)
        assert bench.step_uv < 3.0 * noise
        assert min(bench.lag_s + j for j in bench.jitter_s) >= -0.5
        assert max(bench.lag_s + j for j in bench.jitter_s) <= 0.5


def test_a_wider_spread_draws_from_wider_ranges() -> None:
    ranges = []
    for spread in (1.0, 2.0):
        rng = np.random.default_rng(6)
        drawn = np.log([draw_bench(rng, spread).input_mohm for _ in range(200)])
        ranges.append(drawn.max() - drawn.min())
    assert ranges[1] == pytest.approx(2 * ranges[0], rel=0.1)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("test", TESTS)
def test_every_fault_in_every_test_gives_a_capture_on_its_grid(kind: str, test: str) -> None:
    rng = np.random.default_rng(KINDS.index(kind))
    bench, fault = draw_bench(rng), draw_fault(kind, rng)
    made = simulate(test, bench, (fault,), np.random.default_rng(1))
    emg = made.capture.emg
    assert np.isfinite(emg.samples).all()
    assert emg.samples / emg.resolution == pytest.approx(np.rint(emg.samples / emg.resolution), abs=1e-6)
    assert 9.2 < made.capture.duration_s <= 10.0 + 1 / bench.rate_hz
    again = simulate(test, bench, (fault,), np.random.default_rng(1))
    assert np.array_equal(emg.samples, again.capture.emg.samples)


def test_nonsense_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="'dance'"):
        simulate("dance", Bench())
    with pytest.raises(ValueError, match="'gremlins'"):
        Fault("gremlins")
    with pytest.raises(ValueError, match="needs lead"):
        Fault("open_lead")
    with pytest.raises(ValueError, match="A\\+B"):
        Fault("leads_shorted", lead="A")
