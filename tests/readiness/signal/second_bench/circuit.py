"""Voltages at the two inputs of the amplifier, against its ground, solved in time.

A closed lead follows the bar. An open one is a capacitor that its input's bias charges, its input's
resistance drains, and every charge nearby moves.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.signal import lfilter

from .ailments import Ailment
from .drawing import VOLT, BenchRoom, FrontEnd, log_uniform
from .hands import Handling, mask, stroke_shape
from .sources import heart, mains_wave, static_swings

BOLTZMANN_300K = 1.38e-23 * 300
POST_OHM = 1e5
CABLE_FARAD = 40e-12
FAR_SHARE = 0.3
"""Of the charge a hand moves in a lead, while it holds another."""
PROTECTION = 1.4
"""Voltage at which an input's protection conducts, over the one at which it stops amplifying."""


@dataclass
class Nodes:
    """Voltages of both inputs (uV) on the grid, and the mains wave they came from."""

    plus: np.ndarray
    minus: np.ndarray
    mains: np.ndarray


@dataclass
class _Scene:
    """What the solution of one lead needs."""

    front: FrontEnd
    room: BenchRoom
    hands: Handling
    times_s: np.ndarray
    rng: np.random.Generator
    bridge: Ailment | None


def solve(
    front: FrontEnd,
    room: BenchRoom,
    hands: Handling,
    ailment: Ailment | None,
    times_s: np.ndarray,
    rng: np.random.Generator,
) -> Nodes:
    """Both inputs of a kit in these hands."""
    bridge = ailment if ailment and ailment.kind in ("shorted", "leaking") else None
    scene = _Scene(front, room, hands, times_s, rng, bridge)
    mains = mains_wave(room, times_s, rng)
    around = _surroundings(scene, mains)
    terminal = {lead: lead for lead in ("A", "B", "ground")}
    if ailment and ailment.kind == "swapped":
        active = ailment.lead.removesuffix("ground")
        terminal[active], terminal["ground"] = "ground", active
    strand = ailment.size if ailment and ailment.kind == "resistive" else 0.0
    bar = _bar(scene, around, terminal["ground"], strand)
    plus = _input(scene, "A", around, bar, terminal["A"], strand)
    minus = _input(scene, "B", around, bar, terminal["B"], strand)
    if bridge and "A" in bridge.lead and "B" in bridge.lead:
        plus, minus = _bridged(scene, plus, minus, around)
    return Nodes(plus, minus, mains)


def _surroundings(scene: _Scene, mains: np.ndarray) -> np.ndarray:
    """Voltage of what stands around the leads against the amplifier's ground."""
    room = scene.room
    if not scene.hands.held:
        return room.air_uv * mains.real
    swings = static_swings(room.swing_uv, room.swings_per_s, scene.times_s, scene.rng)
    return room.body_uv * mains.real + swings


def _current(scene: _Scene, farad: np.ndarray | float, around: np.ndarray) -> np.ndarray:
    """Current through a capacitance that may change while the voltage does."""
    return np.gradient(farad * around) * scene.front.grid_hz


def _nearness(scene: _Scene, lead: str) -> np.ndarray | float:
    """Capacitance of the surroundings to the conductor of a lead."""
    near = scene.room.near_farad[("A", "B", "ground").index(lead)]
    if not scene.hands.held:
        return 0.1 * near
    bent = stroke_shape(scene.hands.bend[lead], scene.times_s)
    return near * (FAR_SHARE + (1 - FAR_SHARE) * bent)


def _bar(scene: _Scene, around: np.ndarray, lead: str, strand_ohm: float) -> np.ndarray:
    """The bar against the amplifier's ground."""
    front, room = scene.front, scene.room
    farad = room.body_farad if scene.hands.held else room.air_farad
    current = _current(scene, farad, around)
    closed = _through(scene, lead, front.ground_ohm, strand_ohm, current)
    way_back = _way_back(scene, "ground")
    if way_back is not None:
        open_at = mask(scene.hands.opens[lead], scene.times_s)
        return np.where(open_at, way_back * current, closed)
    total = 2 * front.input_farad + farad + CABLE_FARAD
    fed = current + 2 * front.bias
    return _floating(scene, lead, closed, fed, front.input_ohm / 2, total)


def _input(
    scene: _Scene,
    name: str,
    around: np.ndarray,
    bar: np.ndarray,
    lead: str,
    strand_ohm: float,
) -> np.ndarray:
    """One input: on the bar, on its own, or on a finger."""
    front = scene.front
    current = front.bias + _current(scene, _nearness(scene, lead), around)
    series = 1.0
    if name == "A" and scene.hands.test == "ground":
        series = POST_OHM
        current = current - front.input_farad * np.gradient(bar) * front.grid_hz
    closed = bar + _through(scene, lead, series, strand_ohm, current)
    way_back = _way_back(scene, name)
    if way_back is not None:
        open_at = mask(scene.hands.opens[lead], scene.times_s)
        return np.where(open_at, way_back * current, closed)
    total = front.input_farad + CABLE_FARAD
    pulled = CABLE_FARAD * np.gradient(bar) * front.grid_hz
    return _floating(scene, lead, closed, current + pulled, front.input_ohm, total)


def _way_back(scene: _Scene, name: str) -> float | None:
    """Resistance through which a lifted lead still reaches the ground, by a bridge to it."""
    if scene.bridge and "ground" in scene.bridge.lead and name in scene.bridge.lead:
        return scene.bridge.size
    return None


def _through(
    scene: _Scene, lead: str, series_ohm: float, strand_ohm: float, current: np.ndarray
) -> np.ndarray:
    """Voltage over the resistances of a closed lead, with their thermal noise."""
    ohm: np.ndarray | float = series_ohm
    if strand_ohm:
        ohm = series_ohm + strand_ohm * mask(scene.hands.thins[lead], scene.times_s)
    density = np.sqrt(4 * BOLTZMANN_300K * ohm * scene.front.grid_hz / 2) * VOLT
    return ohm * current + density * scene.rng.standard_normal(len(scene.times_s))


def _floating(
    scene: _Scene,
    lead: str,
    closed: np.ndarray,
    current: np.ndarray,
    ohm: float,
    farad: float,
) -> np.ndarray:
    """The closed voltage, replaced where the lead is open by what its charge does then."""
    hands, front = scene.hands, scene.front
    open_at = mask(hands.opens[lead], scene.times_s)
    voltage = closed.copy()
    if not open_at.any():
        return voltage
    stop = PROTECTION * front.common_uv
    decay = np.exp(-1 / (front.grid_hz * ohm * farad))
    gain = ohm * (1 - decay)
    for first, last in _runs(open_at):
        before = closed[first - 1] if first else np.clip(np.mean(current) * ohm, -stop, stop)
        part, _ = lfilter([gain], [1, -decay], current[first:last], zi=[decay * before])
        voltage[first:last] = part
    voltage = np.clip(voltage, -stop, stop)
    touched = mask(hands.fingers[lead], scene.times_s) & open_at
    if touched.any():
        skin = log_uniform(scene.rng, 1e4, 1e6)
        offset = scene.rng.normal(0, 30e3)
        beats = heart(scene.room, scene.times_s, scene.rng)
        voltage[touched] = (closed + offset + beats + skin * current)[touched]
    return voltage


def _bridged(
    scene: _Scene, plus: np.ndarray, minus: np.ndarray, around: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Two actives with a resistance between them: an open one hangs on the other."""
    assert scene.bridge
    drawn = []
    for lead, own, partner in (("A", plus, minus), ("B", minus, plus)):
        open_at = mask(scene.hands.opens[lead], scene.times_s)
        touched = mask(scene.hands.fingers[lead], scene.times_s)
        current = scene.front.bias + _current(scene, _nearness(scene, lead), around)
        through = scene.bridge.size * current
        thermal = np.sqrt(4 * BOLTZMANN_300K * scene.bridge.size * scene.front.grid_hz / 2)
        through = through + thermal * VOLT * scene.rng.standard_normal(len(own))
        if touched.any():
            # The finger's source works through the skin against the bridge.
            through = np.where(touched, (own - partner) * _divider(scene.bridge.size), through)
        drawn.append(np.where(open_at, partner + through, own))
    return drawn[0], drawn[1]


def _divider(bridge_ohm: float, skin_ohm: float = 1e5) -> float:
    return bridge_ohm / (bridge_ohm + skin_ohm)


def _runs(flags: np.ndarray) -> list[tuple[int, int]]:
    """First and one past the last place of each run of true flags."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], flags.view(np.int8), [0]))))
    return [(int(first), int(last)) for first, last in edges.reshape(-1, 2)]
