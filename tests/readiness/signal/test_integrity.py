"""Traces that cannot be a measurement, and sound ones that must not be taken for such."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.capture import Capture, Channel, Note
from readiness.signal.integrity.checks import check_integrity, thermal_noise_uv
from readiness.signal.simulator.captures import draw_bench, simulate

RATE = 1000.0
STEP = 0.25


def noise(sd: float = 1.5, count: int = 10_000, seed: int = 1, step: float = STEP) -> np.ndarray:
    return np.rint(np.random.default_rng(seed).normal(0.0, sd, count) / step) * step


def capture(
    samples: np.ndarray,
    rate: float = RATE,
    resolution: float | None = None,
    full_scale: tuple[float, float] | None = None,
    time: np.ndarray | None = None,
    test: str = "still",
    notes: tuple[Note, ...] = (),
) -> Capture:
    emg = Channel("emg", "emg", "uV", rate, samples, resolution, full_scale)
    times = () if time is None else (Channel("t_s", "time", "s", rate, time),)
    return Capture("a.csv", (*times, emg), emg, rate, test=test, notes=notes)


def codes_of(*args: object, **kwargs: object) -> list[str]:
    return [note.code for note in check_integrity(capture(*args, **kwargs))]


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("test", ["still", "flex", "worn"])
def test_a_sound_kit_of_the_bench_model_has_no_note_but_rails_while_moved(seed, test):
    bench = draw_bench(np.random.default_rng(seed))
    notes = check_integrity(simulate(test, bench).capture)
    assert {note.code for note in notes} <= ({"clipped"} if test == "worn" else set())


@pytest.mark.parametrize("resolution", [None, STEP])
@pytest.mark.parametrize("full_scale", [None, (-1000.0, 1000.0)])
def test_sound_noise_has_no_note(resolution, full_scale):
    assert codes_of(noise(), resolution=resolution, full_scale=full_scale) == []


@pytest.mark.parametrize("value", [0.0, -3.25, 9e4])
def test_a_constant_trace_is_dead(value):
    (note,) = check_integrity(capture(np.full(10_000, value)))
    assert note.code == "dead_channel" and "nothing is measured" in note.text


@pytest.mark.parametrize(
    ("value", "full_scale"),
    [(1000.0, (-1000.0, 1000.0)), (-1000.0, (-1000.0, 1000.0)), (2e5, None)],
)
def test_a_trace_that_stands_still_at_its_stop_is_saturated(value, full_scale):
    assert codes_of(np.full(10_000, value), full_scale=full_scale) == ["saturated"]


def test_a_two_valued_trace_is_dead():
    samples = np.where(np.random.default_rng(1).random(10_000) < 0.5, 0.0, 2.0)
    assert codes_of(samples) == ["dead_channel"]


def test_dithering_by_one_code_is_dead():
    # Spread of the codes 0.2 LSB, below the rounding noise LSB/sqrt(12) = 0.2887 LSB (Widrow;
    # Bennett 1948).
    picks = np.random.default_rng(2).choice([-1.0, 0.0, 1.0], 10_000, p=[0.02, 0.96, 0.02])
    assert codes_of(picks * 2.44) == ["dead_channel"]


def test_a_coarse_converter_over_real_noise_is_not_dead():
    # 0.4 LSB of noise gives three codes and a spread of 0.49 LSB, above LSB/sqrt(12).
    assert codes_of(noise(sd=0.4 * 2.44, step=2.44)) == []


def test_a_trace_that_stops_in_the_middle_is_dead_there():
    samples = noise()
    samples[4000:4600] = samples[4000]
    (note,) = check_integrity(capture(samples))
    assert note.code == "dead_channel"
    assert note.start_s == pytest.approx(4.0, abs=0.003) and note.end_s == pytest.approx(
        4.6, abs=0.003
    )


@pytest.mark.parametrize("full_scale", [None, (-1000.0, 1000.0)])
def test_a_capture_that_rails_in_one_window_only(full_scale):
    samples = noise(sd=20.0)
    samples[5000:7500] = 1000.0
    (note,) = check_integrity(capture(samples, resolution=STEP, full_scale=full_scale))
    assert (note.code, note.start_s, note.end_s) == ("saturated", 5.0, 7.5)


def test_every_stay_at_a_rail_is_a_rail_however_many_there_are():
    """Of many stays five are told by name; the others are rails all the same, and no trace that
    stopped.
    """
    x = np.random.default_rng(4).normal(0.0, 30.0, 10240)
    for second in range(1, 9):
        x[second * 1024 : second * 1024 + 300] = -1000.0
    assert set(codes_of(x, rate=1024.0, full_scale=(-1000.0, 1000.0), test="flex")) <= {
        "saturated",
        "clipped",
    }


def test_short_contacts_with_both_rails_are_clipped():
    samples = noise(sd=20.0)
    samples[3000:3020], samples[6000:6030] = 1000.0, -1000.0
    notes = check_integrity(capture(samples, resolution=STEP, full_scale=(-1000.0, 1000.0)))
    assert [(n.code, n.start_s, n.end_s) for n in notes] == [
        ("clipped", 3.0, 3.02),
        ("clipped", 6.0, 6.03),
    ]


def test_flat_tops_without_a_declared_range_are_clipped():
    t = np.arange(10_000) / RATE
    wave = np.clip(100.0 * np.sin(2 * np.pi * 50 * t) + noise(), -80.0, 80.0)
    assert set(codes_of(wave)) == {"clipped"}


@pytest.mark.parametrize("sign", [1, -1])
def test_an_input_at_200_mv_with_1_uv_of_ripple_is_at_its_stop(sign):
    (note,) = check_integrity(capture(sign * 200e3 + noise(sd=1.0)))
    assert note.code == "saturated" and "200 mV" in note.text


def test_skin_may_stand_further_off_than_a_bar():
    assert codes_of(200e3 + noise(), test="worn") == []
    assert codes_of(350e3 + noise(), test="worn") == ["saturated"]


def test_millivolts_called_microvolts():
    # 1.5 uV RMS written as 0.0015 with the unit uV: below sqrt(4 k T R B) of 100 ohm, 0.0263 uV
    # (Nyquist 1928).
    assert thermal_noise_uv(RATE) == pytest.approx(0.0248, abs=0.0005)
    assert codes_of(noise() / 1e3) == ["wrong_scale"]
    assert codes_of(noise() / 1e3, full_scale=(-5.0, 5.0)) == ["wrong_scale"]


def test_hum_does_not_hide_a_wrong_unit():
    t = np.arange(10_000) / RATE
    assert codes_of((noise(step=1e-3) + 3.0 * np.sin(2 * np.pi * 50 * t)) / 1e3) == ["wrong_scale"]


def test_microvolts_called_volts():
    assert "wrong_scale" in codes_of(noise(sd=20.0) * 1e6)


def test_steps_too_coarse_for_any_muscle():
    assert codes_of(noise(sd=500.0, step=89.0), resolution=89.0, full_scale=(-2.9e6, 2.9e6)) == [
        "wrong_scale"
    ]


def test_values_off_the_declared_resolution():
    (note,) = check_integrity(capture(noise(step=0.01), resolution=STEP))
    assert note.code == "wrong_scale" and "between the declared steps" in note.text


def test_steps_that_stand_beside_zero_are_on_the_grid():
    assert codes_of(noise() + 0.5 * STEP, resolution=STEP) == []


@pytest.mark.parametrize("declared", [0.1526, 0.153])
def test_a_step_declared_with_few_digits_is_the_step(declared):
    # 0.152587890625 is 10 mV over 16 bits; hum of 500 uV reaches code 3277, where the lost digits
    # add up to 1.3 steps.
    step, t = 0.152587890625, np.arange(10_000) / RATE
    wave = np.round(
        np.rint((noise(step=1e-3) + 500 * np.sin(2 * np.pi * 0.4 * t)) / step) * step, 4
    )
    assert codes_of(wave, resolution=declared, full_scale=(-5000.0, 5000.0)) == []


def test_a_rail_one_step_below_the_declared_range():
    samples = noise(sd=20.0)
    samples[5000:7500] = 1000.0 - STEP
    (note,) = check_integrity(capture(samples, resolution=STEP, full_scale=(-1000.0, 1000.0)))
    assert (note.code, note.start_s, note.end_s) == ("saturated", 5.0, 7.5)


def test_a_range_set_to_the_extremes_of_the_trace_is_no_rail():
    samples = noise(sd=20.0, step=0.001)
    assert codes_of(samples, full_scale=(float(samples.min()), float(samples.max()))) == []


def test_values_written_too_coarsely_for_their_step_are_not_judged():
    assert codes_of(np.round(noise(step=0.15), 1), resolution=0.15) == []


@pytest.mark.parametrize("bits", [1, 2, 3])
def test_low_bits_that_never_change(bits):
    codes = np.random.default_rng(5).normal(0, 300, 10_000).round().astype(int) >> bits << bits
    (note,) = check_integrity(capture(codes * STEP, resolution=STEP, full_scale=(-8192.0, 8191.75)))
    assert note.code == "stuck_bits" and f"{bits} lowest" in note.text


@pytest.mark.parametrize("bit", [2, 4])
@pytest.mark.parametrize("state", [0, 1])
@pytest.mark.parametrize("resolution", [None, STEP])
def test_a_middle_bit_that_never_changes(bit, state, resolution):
    codes = np.random.default_rng(6).normal(0, 300, 10_000).round().astype(int)
    codes = codes | 1 << bit if state else codes & ~(1 << bit)
    (note,) = check_integrity(capture(codes * STEP, resolution=resolution))
    assert note.code == "stuck_bits" and f"Bit {bit} " in note.text


@pytest.mark.parametrize("bit", [0, 1, 2, 3, 4])
@pytest.mark.parametrize("state", [0, 1])
@pytest.mark.parametrize("spread", [3.0, 12.0])
def test_a_stuck_bit_within_a_few_codes_of_noise(bit, state, spread):
    codes = np.random.default_rng(8).normal(0, spread, 10_000).round().astype(int)
    codes = codes | 1 << bit if state else codes & ~(1 << bit)
    seen = codes_of(codes * STEP, resolution=STEP, full_scale=(-1024.0, 1023.75))
    # Blocks of 2^bit codes must lie well inside the trace for their lack to show.
    assert seen == ["stuck_bits"] or 2**bit > spread


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("spread", [1.5, 3.0, 10.0, 40.0])
def test_sound_noise_anywhere_has_no_stuck_bit(seed, spread):
    rng = np.random.default_rng(seed)
    codes = rng.normal(rng.integers(-500, 500), spread, 10_000).round().astype(int)
    assert codes_of(codes * STEP, resolution=STEP, full_scale=(-1024.0, 1023.75)) == []


def test_two_plateaus_are_no_stuck_bit():
    samples = noise(sd=0.75)
    samples[5000:] += 1000 * STEP
    assert codes_of(samples, resolution=STEP) == []


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
def test_samples_that_are_not_finite_are_missing(value):
    samples = noise()
    samples[[100, 2500]] = value
    (note,) = check_integrity(capture(samples))
    assert note.code == "missing_samples" and note.start_s == 0.1 and "2.5 s" in note.text


def test_what_the_reader_told_is_not_told_again():
    samples = noise()
    samples[100] = np.nan
    assert codes_of(samples, notes=(Note("missing_samples", "told"),)) == []
    assert codes_of(np.full(10_000, np.nan), notes=(Note("missing_samples", "told"),)) == [
        "dead_channel"
    ]


@pytest.mark.parametrize(
    ("off", "told"), [(0.003, False), (-0.003, False), (0.005, True), (-0.005, True), (0.02, True)]
)
def test_stated_rate_against_the_times(off, told):
    t = np.arange(10_000) / (RATE * (1 + off))
    assert codes_of(noise(), time=np.round(t, 6)) == (["time_base"] if told else [])


def test_times_that_repeat_run_backward_or_lack():
    t = np.arange(10_000) / RATE
    repeated, backward, gap = t.copy(), t.copy(), t.copy()
    repeated[500] = repeated[499]
    backward[500:] -= 0.02
    gap[500:] += 0.02
    assert "time_base" in codes_of(noise(), time=repeated)
    assert codes_of(noise(), time=backward) == ["time_base"]
    assert codes_of(noise(), time=gap) == ["missing_samples"]


def test_an_empty_channel_is_no_crash():
    assert codes_of(np.zeros(0)) == ["dead_channel"]
