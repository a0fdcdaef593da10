"""A kit of the second bench, and its captures."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from readiness.signal.capture import Channel, Declared, Recording
from readiness.signal.readers import read_capture

from .ailments import FILE_AILMENTS, LEADS, TROUBLES, Ailment, draw_ailment
from .amplifier import amplified, digitised, sampled
from .circuit import solve
from .drawing import (
    BareNoise,
    BenchRoom,
    Converter,
    FrontEnd,
    draw_converter,
    draw_front_end,
    draw_noise,
    draw_room,
    log_uniform,
)
from .hands import PRELUDE_S, WINDOW_S, WINDOWS_S, Handling, handle, stroke_shape
from .noise import noise_levels, noise_trace
from .sources import friction, knock, phone_bursts, telegraph

LENGTH_S = 10.0


@dataclass(frozen=True)
class DrawnKit:
    """All that is fixed about a kit while it is judged. ``trouble`` is one of ``TROUBLES`` or
    empty; ``stamped``: its files have a time column.
    """

    name: str
    front: FrontEnd
    converter: Converter
    room: BenchRoom
    bare: BareNoise
    ailment: Ailment | None
    trouble: str
    white: float
    noise_uv: float
    battery_v: float
    stamped: bool

    @property
    def label(self) -> str:
        """Name of its row in the tables."""
        return self.ailment.label if self.ailment else self.trouble or "sound"


def draw_kit(case: str, rng: np.random.Generator, name: str = "") -> DrawnKit:
    """A kit of one case: "sound", a trouble of the room, or an ailment."""
    ailment = None if case == "sound" or case in TROUBLES else draw_ailment(case, rng)
    trouble = case if case in TROUBLES else ""
    front, room, bare = draw_front_end(rng), draw_room(rng), draw_noise(rng)
    room = replace(
        room,
        phone=trouble == "phone",
        bumped=trouble == "bumped",
        rubbed=trouble == "rubbed",
        loop_uv=log_uniform(rng, 40, 400) if trouble == "loud" else room.loop_uv,
    )
    if ailment and ailment.kind == "noisy":
        bare = replace(bare, times_limit=ailment.size)
    if ailment and ailment.kind == "flicker":
        bare = BareNoise(ailment.size, log_uniform(rng, 60, 300))
    white, noise = noise_levels(front, bare, room.mains_hz)
    flat = ailment is not None and ailment.kind == "flat"
    return DrawnKit(
        name=name,
        front=front,
        converter=draw_converter(rng, noise),
        room=room,
        bare=bare,
        ailment=ailment,
        trouble=trouble,
        white=white,
        noise_uv=noise,
        battery_v=ailment.size if ailment and flat else rng.uniform(2.75, 3.2),
        stamped=case in FILE_AILMENTS and bool(rng.random() < 0.5),
    )


def record(kit: DrawnKit, test: str, rng: np.random.Generator) -> Recording:
    """Ten seconds of one test, as a reader hands them over."""
    trace, sent = trace_of(kit, test, rng)
    if kit.stamped:
        return _read_back(kit, test, trace, sent)
    converter = kit.converter
    channel = Channel(
        label="emg",
        role="emg",
        unit="uV",
        rate_hz=_declared_rate(kit),
        samples=trace,
        resolution=converter.step_uv if converter.states_step else None,
        full_scale=(converter.low_uv, converter.high_uv) if converter.states_range else None,
    )
    return Recording(
        file=f"{kit.name}-{test}.csv",
        channels=(channel,),
        emg=channel,
        rate_hz=channel.rate_hz,
        kit=kit.name,
        test=test,
        mains_hz=float(round(kit.room.mains_hz, -1)) if kit.room.states_mains else None,
        battery_v=np.array([round(kit.battery_v, 2)]),
        moved=True,
    )


def trace_of(kit: DrawnKit, test: str, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """What the converter gives during one test, in microvolts, and the number of each sample."""
    front, room = kit.front, kit.room
    length_s = LENGTH_S * 1.35 if kit.ailment and kit.ailment.kind in FILE_AILMENTS else LENGTH_S
    count = round((length_s + PRELUDE_S) * front.grid_hz)
    times_s = np.arange(count) / front.grid_hz - PRELUDE_S
    hands = handle(test, room, kit.ailment, rng)
    nodes = solve(front, room, hands, kit.ailment, times_s, rng)
    noise = noise_trace(front, kit.bare, kit.white, count, rng)
    if kit.ailment and kit.ailment.kind == "popcorn":
        noise += telegraph(kit.ailment.size * kit.noise_uv, times_s, rng)
    picked_up = _picked_up(kit, hands, nodes.mains, times_s, rng)
    analog = amplified(front, nodes, picked_up, noise, room.mains_hz)
    skip = round(PRELUDE_S * front.grid_hz)
    values = sampled(front, analog, skip, rng)
    sent = _packets(kit, len(values), rng)[: round(LENGTH_S * _declared_rate(kit))]
    digits = digitised(kit.converter, values[sent], kit.noise_uv, room.loop_uv, kit.ailment)
    return digits, sent


def _picked_up(
    kit: DrawnKit,
    hands: Handling,
    mains: np.ndarray,
    times_s: np.ndarray,
    rng: np.random.Generator,
) -> np.ndarray:
    """Induced between the leads: hum of the loop they make, sway of moved cables, a phone."""
    room = kit.room
    bent = {lead: stroke_shape(hands.bend[lead], times_s) for lead in LEADS}
    turns = rng.normal(0, 1, 3)
    loop = 1 + room.swing_loop * sum(t * bent[lead] for t, lead in zip(turns, LEADS, strict=True))
    strength = room.loop_uv * (room.held_gain if hands.held else 1.0)
    caught = strength * loop * (mains * np.exp(1j * room.loop_phase)).real
    for lead in LEADS:
        if hands.bend[lead]:
            share = room.ground_sway if lead == "ground" else 1.0
            caught += share * _sway(room.sway_uv, bent[lead], times_s, rng)
    if room.phone:
        caught += phone_bursts(times_s, rng)
    if room.bumped and hands.test == "still":
        caught += knock(times_s, rng)
    if room.rubbed and hands.test == "flex":
        spans = [(at, at + WINDOW_S) for at in WINDOWS_S.values()]
        caught += friction(spans, times_s, rng)
    return caught


def _sway(
    height_uv: float, bent: np.ndarray, times_s: np.ndarray, rng: np.random.Generator
) -> np.ndarray:
    """A loop that turns in the field of the earth: the slope of its bend, and a tremor on it."""
    slope = np.gradient(bent) / (times_s[1] - times_s[0]) / 6
    tremor = np.sin(2 * np.pi * rng.uniform(7, 11) * times_s + rng.uniform(0, 6))
    return height_uv * (slope + 0.15 * bent * tremor)


def _declared_rate(kit: DrawnKit) -> float:
    if not (kit.ailment and kit.ailment.kind == "wrong_rate"):
        return kit.front.rate_hz
    sign = 1 if kit.ailment.bit % 2 else -1
    return kit.front.rate_hz * (1 + sign * kit.ailment.size)


def _packets(kit: DrawnKit, count: int, rng: np.random.Generator) -> np.ndarray:
    """Numbers of the samples that arrive: packets may be lost or sent twice."""
    sent = np.arange(count)
    ailment = kit.ailment
    if not (ailment and ailment.kind in ("lost_packet", "repeated_packet")):
        return sent
    size = int(ailment.size)
    for _ in range(int(rng.integers(1, 5))):
        at = int(rng.integers(size, count * 0.65))
        after = at + size if ailment.kind == "lost_packet" else at - size
        sent = np.concatenate((sent[:at], sent[after:]))
    return sent


def _read_back(kit: DrawnKit, test: str, trace: np.ndarray, sent: np.ndarray) -> Recording:
    """The same as a file with a time column: the amplifier's own clock stamps what it sampled."""
    clock = sent / kit.front.rate_hz
    head = f"# kit: {kit.name}\n# test: {test}\n# rate_hz: {_declared_rate(kit):.6g}\n"
    head += f"# unit: uV\n# battery_v: {kit.battery_v:.2f}\n"
    rows = "\n".join(f"{at:.6f},{value:.6g}" for at, value in zip(clock, trace, strict=True))
    data = f"{head}t_s,emg\n{rows}\n".encode()
    capture = read_capture(f"{kit.name}-{test}.csv", data=data, declared=Declared(test=test))
    return replace(capture, moved=True)
