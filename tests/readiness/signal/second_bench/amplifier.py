"""From the two inputs to the numbers in a file."""

from __future__ import annotations

import numpy as np
from scipy.signal import sosfilt, sosfilt_zi

from .ailments import Ailment
from .circuit import Nodes
from .drawing import Converter, FrontEnd
from .noise import averaging_kernel, high_pass_sections, late_sections


def amplified(
    front: FrontEnd, nodes: Nodes, picked_up: np.ndarray, noise: np.ndarray, mains_hz: float
) -> np.ndarray:
    """The amplifier's output on the grid, referred to its input.

    ``picked_up`` is what enters between the leads, ``noise`` what the first stage adds: at its stop
    it passes little of that.
    """
    stop = front.common_uv
    plus, minus = np.clip(nodes.plus, -stop, stop), np.clip(nodes.minus, -stop, stop)
    common = (plus + minus) / 2
    slope = np.gradient(common) * front.grid_hz
    difference = plus - minus + front.cmrr_in_phase * common + front.cmrr_lagging * slope
    difference += picked_up
    high_pass = high_pass_sections(front)
    if high_pass is not None and front.couples_first:
        difference = settled(high_pass, difference)
    pinned = (np.abs(difference) >= front.stage_uv) | (plus != nodes.plus) | (minus != nodes.minus)
    passed = np.clip(difference, -front.stage_uv, front.stage_uv)
    passed += noise * np.where(pinned, front.pinned_share, 1.0)
    if high_pass is not None and not front.couples_first:
        passed = settled(high_pass, passed)
    return settled(late_sections(front, mains_hz), passed)


def settled(sections: np.ndarray, trace: np.ndarray) -> np.ndarray:
    """Filtered, as if the first value had stood for ever."""
    return sosfilt(sections, trace, zi=sosfilt_zi(sections) * trace[0])[0]


def sampled(front: FrontEnd, trace: np.ndarray, skip: int, rng: np.random.Generator) -> np.ndarray:
    """Every ``oversampling``-th value from ``skip`` on, at moments that jitter."""
    if front.averages:
        trace = np.convolve(trace, averaging_kernel(front), mode="same")
    if front.jitter_s:
        late = rng.normal(0, front.jitter_s, len(trace))
        trace = trace + late * np.gradient(trace) * front.grid_hz
    return trace[skip :: front.oversampling]


def digitised(
    converter: Converter, trace: np.ndarray, noise_uv: float, hum_uv: float, ailment: Ailment | None
) -> np.ndarray:
    """Whole steps within the converter's range, in microvolts."""
    kind = ailment.kind if ailment else ""
    if ailment and kind == "saturated":
        trace = np.full(len(trace), (1 if ailment.bit % 2 else -1) * 10 * converter.high_uv)
    if ailment and kind == "dead":
        trace = trace * ailment.size
    if ailment and kind == "one_sided":
        level = ailment.size * np.hypot(noise_uv, hum_uv)
        trace = np.minimum(trace, level) if ailment.bit % 2 else np.maximum(trace, -level)
    low = int(np.ceil(converter.low_uv / converter.step_uv))
    high = int(np.floor(converter.high_uv / converter.step_uv))
    codes = np.clip(np.rint(trace / converter.step_uv) + converter.zero, low, high).astype(int)
    if ailment and kind == "stuck":
        codes = _stuck(codes, ailment, noise_uv / converter.step_uv)
    return codes * converter.step_uv


def _stuck(codes: np.ndarray, ailment: Ailment, noise_steps: float) -> np.ndarray:
    """One bit that the noise moves, held: in two's complement, as converters send it."""
    highest = max(0, int(np.log2(max(1.0, 2 * noise_steps))))
    bit = 1 << max(0, highest - ailment.bit // 2)
    return codes | bit if ailment.bit % 2 else codes & ~bit
