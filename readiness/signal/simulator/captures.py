"""Simulated captures with known truth: the public face of the simulator.

    setup = draw_setup(np.random.default_rng(1))
    made = simulate("flex", setup, (Fault("intermittent_lead", 0.02, "B"),))
    made.capture   # as a reader would hand it over
    made.truth     # what was really so

Physics and its sources stand with each part under ``readiness.signal.simulator``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from readiness.signal.capture import Channel, Note, Recording
from readiness.signal.catalogue import CATALOGUE, DURATION_S, LEADS
from readiness.signal.readers import write_csv, write_edf
from readiness.signal.simulator import converter
from readiness.signal.simulator.body import touches
from readiness.signal.simulator.draw import draw_setup
from readiness.signal.simulator.faults import (
    CODE_OF,
    FILE_FAULTS,
    KINDS,
    KIT_FAULTS,
    LEAD_KINDS,
    TROUBLES,
    Fault,
    draw_fault,
)
from readiness.signal.simulator.network import Network
from readiness.signal.simulator.parameters import (
    Setup,
    at_equal_density_uv,
    band_noise_uv,
    thermal_nv,
    with_noise,
)
from readiness.signal.simulator.script import Script, write_script
from readiness.signal.simulator.sources import Clock, MainsSource

__all__ = [
    "CODE_OF",
    "FILE_FAULTS",
    "KINDS",
    "KIT_FAULTS",
    "LEADS",
    "LEAD_KINDS",
    "TROUBLES",
    "Fault",
    "Setup",
    "Simulated",
    "at_equal_density_uv",
    "band_noise_uv",
    "csv_bytes",
    "draw_fault",
    "draw_setup",
    "edf_bytes",
    "simulate",
    "with_noise",
]

FINE_HZ = 8192.0  # opens of a millisecond get eight points
SETTLE_S = 2.0


@dataclass(frozen=True, eq=False)
class Simulated:
    """A capture and the truth behind it.

    ``truth`` holds: ``sound`` (no kit fault), ``noise_uv`` (RMS in ``band_hz``, by theory, not from
    the samples), ``faults``, ``windows`` (lead -> start and end in seconds of the real activity),
    ``events`` (lead, start, end of each open), ``battery_v`` (at the end of the capture), ``room``.
    """

    capture: Recording
    truth: dict[str, Any]


def simulate(
    test: str,
    setup: Setup,
    faults: tuple[Fault, ...] = (),
    rng: np.random.Generator | None = None,
    kit: str | None = None,
) -> Simulated:
    """One capture of ``test`` (a name in the catalogue of bench tests) on ``setup`` with
    ``faults``.

    Deterministic for a given ``rng`` state (default: a generator from ``setup.seed``). Raises
    ValueError for an unknown test.
    """
    if test not in CATALOGUE:
        raise ValueError(f"test {test!r} is none of {', '.join(CATALOGUE)}")
    rng = rng or np.random.default_rng(setup.seed)
    real = converter.faulty_setup(setup, faults)
    true_rate = setup.rate_hz * (1 + sum(f.severity for f in faults if f.kind == "time_base"))
    clock = Clock(
        true_rate,
        max(2, int(np.ceil(FINE_HZ / setup.rate_hz))),
        SETTLE_S,
        DURATION_S * setup.rate_hz / true_rate + 0.2,
    )
    # A stream of its own: a calm hand leaves all the other draws as they are.
    hand_rng = rng.spawn(1)[0]
    script = write_script(CATALOGUE[test], real, faults, rng)
    if CATALOGUE[test].act == "lift":
        lifts = {lead: script.open[lead] for lead in ("A", "B")}
        script.touched = touches(real.hand, lifts, hand_rng)
    volts = _output(clock, real, script, faults, rng, hand_rng)
    emg = converter.convert(real, volts[: round(DURATION_S * setup.rate_hz)], faults)
    capture = _capture(test, real, faults, emg, _battery(real, faults, len(emg), rng), rng, kit)
    return Simulated(capture, _truth(real, faults, script, capture))


def _output(
    clock: Clock,
    setup: Setup,
    script: Script,
    faults: tuple[Fault, ...],
    rng: np.random.Generator,
    hand_rng: np.random.Generator,
) -> np.ndarray:
    mains = MainsSource(clock, setup, rng)
    a, b = Network(clock, mains, setup, script, faults, rng, hand_rng).inputs()
    moved = _movement(clock, setup, script, rng)
    loop = mains.wave(setup.loop_uv * mains.level * mains.number * mains.phases())
    # A bent lead changes the loop's area, so its hum sways with the movement.
    a = a + moved + loop * (1 + 0.2 * moved / setup.movement_uv)
    if script.post_kohm > 0 and script.post_on == "A":
        # The resistor of the second post makes noise like any other.
        a = a + clock.white(rng, thermal_nv(1e3 * script.post_kohm, setup.temperature_k))
    x = converter.first_stage(clock, setup, a, b, rng)
    x = converter.burst_faults(clock, x, faults, rng)
    x = converter.band_limits(clock, setup, x, rng)
    return converter.analogue_faults(clock, setup, x, faults, rng)


def _movement(clock: Clock, setup: Setup, script: Script, rng: np.random.Generator) -> np.ndarray:
    """Artefact of sound leads in microvolts: cable charge and strain, slow, gone when the hand is
    still.
    """
    x = np.zeros(clock.size)
    for lead, (start, end) in script.flexed.items():
        size = setup.movement_uv * (0.4 if lead == "ground" else 1.0)
        x += size * clock.slow(rng, setup.movement_hz) * clock.during(start, end, 0.25)
    if not script.flexed:
        for start, end in script.windows.values():
            x += (
                0.3
                * setup.movement_uv
                * clock.slow(rng, setup.movement_hz)
                * clock.during(start, end, 0.25)
            )
    return x


def _battery(
    setup: Setup, faults: tuple[Fault, ...], size: int, rng: np.random.Generator
) -> np.ndarray | None:
    """Volts under load, (size,) or (1,): Ohm's law on the pack, a few millivolts of settling, the
    meter's step.
    """
    volts = setup.emf_v - 1e-3 * setup.load_ma * setup.battery_ohm
    t = np.arange(size) / setup.rate_hz
    lost = 0.004
    for fault in faults:
        if fault.kind == "battery_missing":
            return None
        if fault.kind == "battery_low":
            volts = fault.severity
        elif fault.kind == "battery_sagging":
            volts, lost = max(volts, 2.6), fault.severity
    shape = (1 - np.exp(-t / 6.0)) / (1 - np.exp(-DURATION_S / 6.0))
    reading = volts - lost * shape + 0.0005 * rng.standard_normal(size)
    reading = np.rint(reading / setup.battery_step_v) * setup.battery_step_v
    return reading if setup.battery_channel else reading[-1:]


def _capture(
    test: str,
    setup: Setup,
    faults: tuple[Fault, ...],
    emg: np.ndarray,
    battery: np.ndarray | None,
    rng: np.random.Generator,
    kit: str | None,
) -> Recording:
    rate, step, top = setup.rate_hz, setup.step_uv, setup.full_scale_uv
    notes: list[Note] = []
    for fault in faults:
        if fault.kind == "wrong_scale":
            emg, step, top = emg * fault.severity, step * fault.severity, top * fault.severity
        elif fault.kind == "missing_samples":
            for start in np.sort(rng.uniform(0.5, 9.2, fault.count)):
                emg[int(start * rate) : int((start + fault.severity) * rate) + 1] = np.nan
                notes.append(
                    Note(
                        "missing_samples",
                        f"samples lost at {start:.2f} s",
                        start,
                        start + fault.severity,
                    )
                )
    channel = Channel("emg", "emg", "uV", rate, emg, step, (-top, top - step))
    channels = [channel]
    if battery is not None and len(battery) > 1:
        channels.append(Channel("battery_v", "battery", "V", rate, battery))
    return Recording(
        file=f"{kit or 'bench'}-{test}.csv",
        channels=tuple(channels),
        emg=channel,
        rate_hz=rate,
        kit=kit,
        test=test,
        mains_hz=setup.mains_hz,
        battery_v=battery,
        notes=tuple(notes),
    )


def csv_bytes(simulated: Simulated) -> bytes:
    """The capture as a file in Kitdesk's CSV form; a lost sample is an empty cell."""
    emg, facts = simulated.capture.emg, _facts(simulated)
    assert emg.full_scale is not None  # the simulator always says its range
    return write_csv(
        emg.samples,
        emg.rate_hz,
        resolution_uv=emg.resolution,
        full_scale_uv=-emg.full_scale[0],
        **facts,
    )


def edf_bytes(simulated: Simulated) -> bytes:
    """The capture as EDF, or as BDF where the converter has more than 16 bits. Lost samples cannot
    be written.

    Raises ValueError for a capture with lost samples, or a rate that is no whole number of samples
    in ten seconds.
    """
    emg = simulated.capture.emg
    assert emg.full_scale is not None and emg.resolution is not None
    top = round(-emg.full_scale[0] / emg.resolution)
    form: dict[str, Any] = {
        "digital_range": (-top, top - 1),
        "bdf": top > 2**15,
        "battery_rate_hz": emg.rate_hz,
    }
    return write_edf(
        emg.samples, emg.rate_hz, full_scale_uv=emg.full_scale, **form, **_facts(simulated)
    )


def _facts(simulated: Simulated) -> dict[str, Any]:
    capture = simulated.capture
    return {
        "test": capture.test,
        "kit": capture.kit,
        "mains_hz": capture.mains_hz,
        "battery_v": capture.battery_v,
        "taken": capture.taken,
    }


def _truth(
    setup: Setup, faults: tuple[Fault, ...], script: Script, capture: Recording
) -> dict[str, Any]:
    events = [
        (lead, max(start, 0.0), min(end, DURATION_S))
        for lead, spans in script.open.items()
        for start, end in spans
    ]
    return {
        "sound": not any(fault.kind in KIT_FAULTS for fault in faults),
        "noise_uv": band_noise_uv(setup),
        "band_hz": setup.band_hz,
        "faults": faults,
        "windows": dict(script.windows),
        "events": events,
        "battery_v": None if capture.battery_v is None else float(capture.battery_v[-1]),
        "room": setup.room,
    }
