"""Traces that look in order and are not, or look broken and are in order: each by name."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from readiness.signal.capture import Channel, Declared, Recording
from readiness.signal.errors import CaptureRefused
from readiness.signal.kit import kit_verdict
from readiness.signal.limits import Limits
from readiness.signal.readers import read_capture, write_csv, write_edf
from readiness.signal.score import score_capture
from readiness.signal.simulator.captures import Fault, Setup, Simulated, csv_bytes, simulate

SETUP = Setup(rate_hz=1024.0, bits=16, full_scale_uv=5000.0)
STEP_UV = SETUP.step_uv


def judge(capture: Recording, limits: Limits | None = None) -> tuple[str, set[str]]:
    """The verdict and the codes of all findings that are more than a note."""
    result = score_capture(capture, limits or Limits())
    return result.verdict, {
        finding.code for finding in result.findings if finding.verdict != "note"
    }


def with_samples(made: Simulated, samples: np.ndarray) -> Recording:
    """The capture with other samples in its EMG channel."""
    emg = replace(made.capture.emg, samples=samples)
    others = tuple(channel for channel in made.capture.channels if channel is not made.capture.emg)
    return replace(made.capture, emg=emg, channels=(emg, *others))


def still(setup: Setup = SETUP, *faults: Fault) -> Simulated:
    return simulate("still", setup, faults)


def noise_floor(capture: Recording) -> tuple[float, float, float]:
    found = [
        m for m in score_capture(capture, Limits()).measurements if m.name == "noise_full_band"
    ]
    assert len(found) == 1
    return found[0].value, found[0].low, found[0].high


def test_the_sound_kit_that_the_traps_are_made_from_is_fit() -> None:
    assert judge(still().capture) == ("fit", set())


@pytest.mark.parametrize("seed", range(3))
def test_trap_dead_channel(seed: int) -> None:
    for part in (0.0, 0.002):
        verdict, codes = judge(
            still(replace(SETUP, seed=seed), Fault("dead_channel", part)).capture
        )
        assert verdict == "not fit"
        assert "dead_channel" in codes


@pytest.mark.parametrize("level_uv", [0.0, 12.5, -4999.0])
def test_trap_constant_trace(level_uv: float) -> None:
    level = round(level_uv / STEP_UV) * STEP_UV
    verdict, codes = judge(with_samples(still(), np.full(10240, level)))
    assert verdict == "not fit"
    assert codes & {"dead_channel", "saturated", "clipped"}


@pytest.mark.parametrize("apart", [1, 2, 40])
def test_trap_two_valued_trace(apart: int) -> None:
    coin = np.random.default_rng(apart).integers(0, 2, 10240)
    verdict, codes = judge(with_samples(still(), coin * apart * STEP_UV))
    assert verdict == "not fit"
    assert codes & {"dead_channel", "stuck_bits"}


@pytest.mark.parametrize("share", [0.002, 0.05, 0.3])
def test_trap_dithering_by_one_code(share: float) -> None:
    """A dead amplifier behind a converter that flickers between neighbours."""
    flicker = np.random.default_rng(3).choice(
        (-1, 0, 1), 10240, p=(share / 2, 1 - share, share / 2)
    )
    verdict, codes = judge(with_samples(still(), flicker * STEP_UV))
    assert verdict == "not fit"
    assert codes & {"dead_channel", "stuck_bits"}


@pytest.mark.parametrize("seed", range(4))
def test_trap_worn_resting_muscle_is_not_a_shorted_input(seed: int) -> None:
    """1.6 uV RMS of resting muscle is quieter than the limit, and no bar."""
    setup = replace(SETUP, rest_uv=1.6, noise_density_nv=15.0, room="quiet", seed=seed)
    worn = simulate("worn", replace(setup, effort_uv=0.0))
    verdict, codes = judge(replace(worn.capture, test="still"))
    assert verdict == "retest"
    assert codes & {"worn_not_shorted", "not_on_bar"}


@pytest.mark.parametrize("seed", range(4))
def test_trap_quiet_muscle_without_a_heart_beat_is_not_fit_for_a_bar(seed: int) -> None:
    """Both electrodes over one forearm: no heart beat gives it away, only colour and drift of the
    trace do.
    """
    setup = replace(
        SETUP,
        rest_uv=1.6,
        noise_density_nv=15.0,
        heart_uv=0.0,
        effort_uv=0.0,
        loop_uv=0.05,
        seed=seed,
    )
    verdict, _ = judge(
        replace(simulate("worn", replace(setup, body_na=5.0, lead_na=0.05)).capture, test="still")
    )
    assert verdict == "retest"


@pytest.mark.parametrize("offset_uv", [200_000.0, -200_000.0])
def test_trap_large_offset_with_one_microvolt_of_ripple(offset_uv: float) -> None:
    """Open inputs at the end of the electrode offset range, quiet as a sound kit."""
    setup = Setup(rate_hz=1024.0, bits=24, full_scale_uv=300_000.0, high_pass_hz=0.0)
    samples = np.random.default_rng(1).standard_normal(10240) + offset_uv
    verdict, codes = judge(
        with_samples(still(setup), np.rint(samples / setup.step_uv) * setup.step_uv)
    )
    assert verdict != "fit"
    assert codes & {"open_lead", "saturated", "clipped", "not_on_bar"}


def brain_rhythm(rate_hz: float, seed: int) -> np.ndarray:
    """20 uV RMS of resting brain: density falling with frequency, an alpha rhythm at 10 Hz (shape
    from memory).
    """
    count = round(10 * rate_hz)
    freq = np.fft.rfftfreq(count, 1 / rate_hz)
    shape = np.where(freq > 0.5, 1 / np.maximum(freq, 0.5), 0) + 0.25 * np.exp(
        -0.5 * (freq - 10) ** 2
    )
    x = np.fft.irfft(np.fft.rfft(np.random.default_rng(seed).standard_normal(count)) * shape, count)
    return 20 * x / x.std()


def test_trap_brain_recording_at_128_hz() -> None:
    samples = brain_rhythm(128.0, 7)
    with pytest.raises(CaptureRefused, match="128 Hz"):
        read_capture(
            "alpha.csv", write_csv(samples, 128.0, test="still", mains_hz=50.0, battery_v=2.9)
        )
    # Should such samples reach the scorer by another way, they are no shorted input either.
    channel = Channel("EEG", "emg", "uV", 128.0, samples)
    verdict, codes = judge(
        Recording("alpha.edf", (channel,), channel, 128.0, test="still", battery_v=np.array([2.9]))
    )
    assert verdict != "fit"
    assert codes


@pytest.mark.parametrize("seed", range(3))
def test_trap_brain_recording_at_a_rate_that_is_taken(seed: int) -> None:
    data = write_csv(brain_rhythm(256.0, seed), 256.0, test="still", mains_hz=50.0, battery_v=2.9)
    verdict, codes = judge(read_capture("alpha.csv", data))
    assert verdict != "fit"
    assert codes & {
        "worn_not_shorted",
        "not_on_bar",
        "low_frequency_noise",
        "excess_noise",
        "open_lead",
    }


def test_trap_microvolts_declared_for_millivolts() -> None:
    verdict, codes = judge(still(SETUP, Fault("wrong_scale", 1e-3)).capture)
    assert verdict != "fit"
    assert "wrong_scale" in codes
    # The same in a file that says nothing of its converter's step.
    data = write_csv(
        still().capture.emg.samples * 1e-3, 1024.0, test="still", battery_v=2.9, decimals=7
    )
    verdict, codes = judge(read_capture("small.csv", data))
    assert verdict != "fit"
    assert codes & {"wrong_scale", "dead_channel"}


def test_trap_counts_with_no_unit_are_refused_and_the_unit_is_asked() -> None:
    rows = "\n".join(
        f"{k / 1000:.3f},{code}"
        for k, code in enumerate(np.random.default_rng(2).integers(-9, 9, 10_000))
    )
    data = f"# test: still\nt_s,emg\n{rows}\n".encode()
    with pytest.raises(CaptureRefused) as refused:
        read_capture("counts.csv", data)
    assert refused.value.missing == "unit"
    assert read_capture("counts.csv", data, Declared(unit="uV")).emg.unit == "uV"


@pytest.mark.parametrize("loop_uv", [2.0, 15.0])
def test_trap_60_hz_room_with_a_50_hz_setting(loop_uv: float) -> None:
    """The hum of another country's mains is hum, not the kit's noise."""
    made = still(replace(SETUP, mains_hz=60.0, loop_uv=loop_uv))
    verdict, codes = judge(replace(made.capture, mains_hz=50.0))
    assert (verdict, codes) == ("fit", set())
    value, _, _ = noise_floor(replace(made.capture, mains_hz=50.0))
    assert value == pytest.approx(made.truth["noise_uv"], rel=0.05)


@pytest.mark.parametrize("error", [0.02, -0.02])
def test_trap_time_base_two_percent_wrong(error: float) -> None:
    setup = replace(SETUP, rate_hz=1000.0, loop_uv=5.0)
    verdict, codes = judge(still(setup, Fault("time_base", error)).capture)
    assert verdict != "fit"
    assert "time_base" in codes
    # A rate in the header that the file's own time column belies.
    data = csv_bytes(still(setup)).replace(
        b"rate_hz: 1000", f"rate_hz: {1000 * (1 + error):g}".encode()
    )
    try:
        verdict, codes = judge(read_capture("rate.csv", data))
    except CaptureRefused as refused:
        assert "rate" in refused.sentence
    else:
        assert verdict != "fit"
        assert "time_base" in codes


@pytest.mark.parametrize(
    ("rate_hz", "mains_hz"), [(256.0, 50.0), (256.0, 60.0), (500.0, 60.0), (512.0, 50.0)]
)
def test_trap_mains_harmonics_aliased_at_low_rates(rate_hz: float, mains_hz: float) -> None:
    """A soft filter lets harmonics above half the rate fold into the band: still hum, still no
    noise.
    """
    setup = Setup(
        rate_hz=rate_hz,
        mains_hz=mains_hz,
        low_pass_hz=0.45 * rate_hz,
        low_pass_order=2,
        full_scale_uv=2000.0,
        loop_uv=5.0,
        harmonics=(1.0, 0.3, 0.5, 0.2, 0.4, 0.1, 0.3, 0.1, 0.2),
        noise_density_nv=25.0,
    )
    made = still(setup)
    verdict, codes = judge(made.capture)
    assert (verdict, codes) == ("fit", set())
    value, _, _ = noise_floor(made.capture)
    assert value == pytest.approx(made.truth["noise_uv"], rel=0.08)


@pytest.mark.parametrize("window", [0, 1, 2, 3])
def test_trap_rails_in_one_window_only(window: int) -> None:
    made = simulate("flex", replace(SETUP, high_pass_hz=5.0))
    samples = made.capture.emg.samples.copy()
    start = int((2.5 * window + 0.9) * 1024)
    samples[start : start + 700] = SETUP.full_scale_uv - STEP_UV
    verdict, codes = judge(with_samples(made, samples))
    assert verdict != "fit"
    # In the still part nobody works on a lead yet: an open there is told as a lead that came off
    # before the call.
    assert codes & {
        "clipped",
        "saturated",
        "open_lead",
        "intermittent_lead",
        *(("moved_too_early",) if not window else ()),
    }


@pytest.mark.parametrize("seed", range(3))
def test_trap_open_lead_that_pins_the_first_stage_looks_quieter_than_a_sound_one(seed: int) -> None:
    setup = Setup(
        rate_hz=1024.0,
        bits=24,
        full_scale_uv=60_000.0,
        noise_density_nv=50.0,
        lead_na=0.02,
        seed=seed,
    )
    pinned = Fault("open_lead", np.inf, "A", variant="pinned")
    sound, broken = (
        {t: simulate(t, setup, f) for t in ("still", "flex", "lift")} for f in ((), (pinned,))
    )
    usual = noise_floor(sound["still"].capture)[0]
    assert judge(sound["still"].capture, Limits(usual_noise_uv=usual)) == ("fit", set())
    # With good captures on record, quiet as it is, `still` refuses it.
    verdict, codes = judge(broken["still"].capture, Limits(usual_noise_uv=usual))
    assert verdict == "not fit"
    assert codes & {"dead_channel", "open_lead", "saturated"}
    # Without any, the lift does.
    results = {test: score_capture(made.capture, Limits()) for test, made in broken.items()}
    assert kit_verdict(results, tuple(results)).verdict == "not fit"
    # At its stop the stage hides what lifting B would show, so the lead may stay open; another must
    # not be blamed.
    assert {f.lead for f in results["lift"].findings if f.verdict == "not fit" and f.lead} <= {"A"}


def test_trap_edf_header_of_one_record_and_a_file_of_ten() -> None:
    data = bytearray(write_edf(still().capture.emg.samples, 1024.0, test="still", battery_v=2.9))
    data[236:244] = b"1       "  # number of data records (row F1)
    try:
        capture = read_capture("ten.edf", bytes(data))
    except CaptureRefused as refused:
        assert "record" in refused.sentence
    else:
        assert capture.duration_s == pytest.approx(10.0)
        assert capture.notes
