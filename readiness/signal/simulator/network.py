"""The passive network: bar or body, ground lead, two active leads into two inputs; microvolts
against the amplifier.

Each node is a resistance parallel to a capacitance fed by a displacement current, so its forced
response is known at each harmonic, and after a contact opens the node runs from where it was to
that response with the time constant R C. Contacts that close do so through kilohms: at once, on
this time grid.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from readiness.signal.simulator.body import BodyVolts
from readiness.signal.simulator.faults import Fault
from readiness.signal.simulator.friction import rubbed_na
from readiness.signal.simulator.parameters import Setup
from readiness.signal.simulator.script import Script
from readiness.signal.simulator.sources import BOLTZMANN, CHARGE, Clock, MainsSource, heart, muscle
from readiness.signal.simulator.weak_contact import behind, bent_kohm

BARE_BAR_PF = 10.0
HAND_SWAY = 0.25
"""RMS of the slow change of what a lead in the hand picks up: it moves against everything around
it.
"""
BODY_SWAY = 0.08
"""The same for the whole body, whose posture alters its coupling to the room by some per cent."""


def through_lead(
    source: np.ndarray, kohm: float, input_mohm: float, pf: float, rate_hz: float
) -> np.ndarray:
    """``source`` behind ``kohm`` at an input of ``input_mohm`` parallel ``pf``: source / (1 +
    Zs/Zin), (n,).

    To first order in Zs/Zin (rows S5, S6), which holds below a megohm: R C is microseconds there,
    signals milliseconds.
    """
    lag_s = kohm * pf * 1e-9
    return source * (1 - 1e-3 * kohm / input_mohm) - lag_s * np.gradient(source) * rate_hz


class Network:
    """Voltages of the three leads of one capture."""

    def __init__(
        self,
        clock: Clock,
        mains: MainsSource,
        setup: Setup,
        script: Script,
        faults: tuple[Fault, ...],
        rng: np.random.Generator,
        hand_rng: np.random.Generator,
    ) -> None:
        self.rubbed = rubbed_na(clock, script, faults, rng)
        self.clock, self.mains, self.setup, self.script, self.rng = clock, mains, setup, script, rng
        self.faults = faults
        self.near = mains.phases()
        self.hand = BodyVolts(clock, mains, setup.hand, self.near, hand_rng)

    def inputs(self) -> tuple[np.ndarray, np.ndarray]:
        """Voltages at input A and input B against the amplifier's ground, each (n,), clamped at the
        supply.
        """
        common = self._common()
        body_a, body_b = self._body() if self.script.worn else (0.0, 0.0)
        half = self.setup.input_mismatch / 2
        a = self._input("A", common, body_a, self.setup.input_pf * (1 + half))
        b = self._input("B", common, body_b, self.setup.input_pf * (1 - half))
        rail = self.setup.supply_mv * 1e3
        return np.clip(a, -rail, rail), np.clip(b, -rail, rail)

    def _common(self) -> np.ndarray:
        """Potential of the bar, or of the body that holds or wears it."""
        setup, body = self.setup, self.script.held or self.script.worn
        if not self.script.on_bar:
            return np.zeros(self.clock.size)
        phases = self.mains.phases(self.near, 0.8)
        current = self.mains.current(setup.body_na if body else setup.bar_na, phases)
        if self._hand_in:
            current = self.hand.mains_na(setup.hand.bar_pf)
        kohm = setup.ground_kohm + (setup.electrode_kohm[2] if self.script.worn else 0.0)
        kohm += self.script.post_kohm if self.script.post_on == "ground" else 0.0
        closed = self.mains.wave(current * kohm)
        if "ground" in self.script.raised:
            node = (setup.input_mohm / 2, 2 * setup.input_pf + setup.body_pf)
            closed = self._weakened("ground", closed, self.mains.wave(current), node)
        spans = self.script.open["ground"]
        if not spans:
            return closed
        pf = 2 * setup.input_pf + (setup.body_pf if body else BARE_BAR_PF)
        mohm = self._parallel(setup.input_mohm / 2, "ground")
        opened = self.mains.wave(1e3 * current * self.mains.impedance(mohm, pf)) * self._sway(
            BODY_SWAY if body else 0.0
        )
        opened += 2 * setup.bias_pa * mohm + self._float_noise(mohm, pf)
        if self._hand_in:
            opened += self.hand.static_uv(setup.hand.bar_pf, mohm, pf)
        rail = setup.supply_mv * 1e3
        return np.clip(self._switch(closed, opened, spans, mohm * pf * 1e-6), -rail, rail)

    def _input(
        self, lead: str, common: np.ndarray, body: np.ndarray | float, pf: float
    ) -> np.ndarray:
        setup, index = self.setup, "AB".index(lead)
        kohm = setup.lead_kohm[index] + (setup.electrode_kohm[index] if self.script.worn else 0.0)
        kohm += self.script.post_kohm if lead == self.script.post_on else 0.0
        current = self.mains.current(
            setup.lead_na * self.rng.uniform(0.6, 1.4), self.mains.phases(self.near, 0.5)
        )
        source = common + body
        closed = through_lead(
            source, kohm, setup.input_mohm, pf, self.clock.rate_hz
        ) + self.mains.wave(current * kohm)
        if lead in self.rubbed:
            closed = closed + self.rubbed[lead] * kohm
        if lead in self.script.raised:
            closed = self._weakened(lead, closed, self._into_bent(current), (setup.input_mohm, pf))
        spans = [(-np.inf, np.inf)] if not self.script.on_bar else self.script.open[lead]
        if not spans:
            return closed
        mohm = self._parallel(setup.input_mohm, lead)
        scale = (
            1e3 if self.script.on_bar else 0.5e3
        )  # a floating amplifier follows its leads in part
        opened = self.mains.wave(scale * current * self.mains.impedance(mohm, pf))
        if self._hand_in:
            opened += self._from_hand(lead, mohm, pf)
        opened *= self._sway(HAND_SWAY if lead in self.script.windows else 0.0)
        opened += self._rest(lead, mohm) + self._float_noise(mohm, pf)
        if np.isfinite(self._fault_mohm(lead)):
            opened += self._leaking(source, lead, mohm, pf)
        open_or_not = self._switch(closed, opened, spans, mohm * pf * 1e-6)
        for start_s, end_s in self.script.touched.get(lead, ()):
            self._lay_finger(open_or_not, source, lead, self.clock.index(start_s), end_s)
        return open_or_not

    @property
    def _hand_in(self) -> bool:
        return self.script.held and not self.setup.hand.is_calm

    def _from_hand(self, lead: str, mohm: float, pf: float) -> np.ndarray:
        """Mains and static of the hand on an open lead: all of it while the lead is in the hand, a
        share of it while it only hangs near the body.
        """
        hand = self.setup.hand
        wave = self.mains.wave(
            1e3 * self.hand.mains_na(hand.lead_pf) * self.mains.impedance(mohm, pf + hand.lead_pf)
        )
        wave += self.hand.static_uv(hand.lead_pf, mohm, pf)
        start, end = self.script.windows.get(lead, (0.0, 0.0))
        return wave * (hand.near + (1 - hand.near) * self.clock.during(start, end))

    def _lay_finger(
        self, x: np.ndarray, source: np.ndarray, lead: str, first: int, end_s: float
    ) -> None:
        """A finger joins the lifted snap to the bar through the body: skin, heart, the hand's own
        muscle.
        """
        setup, clock = self.setup, self.clock
        part = slice(first, clock.index(end_s))
        rng = self.hand.rng
        ohm = 1e3 * setup.hand.finger_kohm
        density_nv = 1e9 * np.sqrt(4 * BOLTZMANN * setup.temperature_k * ohm)
        body = heart(clock, rng, setup.heart_uv) + muscle(clock, rng, setup.rest_uv)
        body += clock.white(rng, density_nv)
        body += self.mains.wave(self.hand.mains_na(setup.hand.lead_pf) * setup.hand.finger_kohm)
        x[part] = (source + body)[part]

    def _into_bent(self, current: np.ndarray) -> np.ndarray:
        """Mains that enters a lead in the hand behind its bend, in nanoampere."""
        na = self.mains.wave(current)
        if self._hand_in:
            na += self.mains.wave(self.hand.mains_na(self.setup.hand.lead_pf))
        return na

    def _weakened(
        self, lead: str, closed: np.ndarray, mains_na: np.ndarray, node: tuple[float, float]
    ) -> np.ndarray:
        """The same lead where its strands part but for some kilohms."""
        setup = self.setup
        ground = lead == "ground"
        current = mains_na + 1e-3 * setup.bias_pa * (2 if ground else 1)
        if self._hand_in:
            current += self.hand.static_na(setup.hand.bar_pf if ground else setup.hand.lead_pf)
        kohm = bent_kohm(self.clock, self.script.raised[lead], self.rng)
        return behind(self.clock, closed, kohm, current, node, setup.temperature_k, self.rng)

    def _fault_mohm(self, lead: str) -> float:
        """What still joins a lead off the bar to it: broken strands that touch, or insulation that
        leaks to a lead on the bar.
        """
        opened = [f.severity for f in self.faults if f.kind == "open_lead" and f.lead == lead]
        leaks = [1e-3 * f.severity for f in self.faults if self._leaks(f, lead)]
        return min([*opened, *leaks], default=float("inf"))

    def _leaks(self, fault: Fault, lead: str) -> bool:
        return fault.kind == "leaking_leads" and lead in str(fault.lead).split("+")

    def _parallel(self, mohm: float, lead: str) -> float:
        return 1 / (1 / mohm + 1 / self._fault_mohm(lead))

    def _leaking(self, source: np.ndarray, lead: str, mohm: float, pf: float) -> np.ndarray:
        """What still comes through a lead of some megohms: a divider with a low-pass."""
        share = mohm / self._fault_mohm(lead)
        return self.clock.shape(
            source, share / (1 + 2j * np.pi * self.clock.freq * mohm * pf * 1e-6)
        )

    def _rest(self, lead: str, mohm: float) -> np.ndarray:
        """Where bias current takes a floating input, with slow drift; pinned: beyond the stop of
        the first stage.
        """
        rest = self.setup.bias_pa * mohm * (1 if lead == "A" else 0.8)
        # What wanders is the current, so a leak holds the drift down as it does the rest.
        floats = mohm / self.setup.input_mohm
        drift = (30.0 * floats + 0.02 * abs(rest)) * self.clock.slow(self.rng, 0.5)
        pinned = any(
            f.kind == "open_lead" and f.lead == lead and f.variant == "pinned" for f in self.faults
        )
        if pinned:
            rest = np.sign(rest) * self.setup.stage_range_mv * 1e3 * self.rng.uniform(1.3, 3.0)
        return rest + drift

    def _float_noise(self, mohm: float, pf: float) -> np.ndarray:
        """Noise current of a floating input, i^2 = 4kT/R + 2qI, in R parallel C (Nyquist 1928,
        Schottky 1918).
        """
        current = (
            4 * BOLTZMANN * self.setup.temperature_k / (mohm * 1e6)
            + 2 * CHARGE * abs(self.setup.bias_pa) * 1e-12
        )
        density_nv = 1e9 * np.sqrt(current) * mohm * 1e6
        gain = 1 / (1 + 2j * np.pi * self.clock.freq * mohm * pf * 1e-6)
        return self.clock.shape(self.clock.white(self.rng, density_nv), gain)

    def _sway(self, size: float) -> np.ndarray | float:
        """Factor on a pick-up that changes slowly, about one, RMS ``size``."""
        return np.abs(1 + size * self.clock.slow(self.rng, 1.0)) if size else 1.0

    def _switch(
        self, closed: np.ndarray, opened: np.ndarray, spans: list[Any], tau_s: float
    ) -> np.ndarray:
        x = closed.copy()
        for start_s, end_s in spans:
            start, end = self.clock.index(start_s), self.clock.index(end_s)
            if end <= start:
                continue
            left = closed[start - 1] - opened[start] if start else 0.0
            decay = np.exp(-np.arange(1, end - start + 1) / (tau_s * self.clock.rate_hz))
            x[start:end] = opened[start:end] + left * decay
        return x

    def _body(self) -> tuple[np.ndarray, np.ndarray]:
        """Potentials of a wearer's muscle and heart at the two active electrodes."""
        setup, clock = self.setup, self.clock
        x = muscle(clock, self.rng, setup.rest_uv) + heart(clock, self.rng, setup.heart_uv)
        if self.script.effort_s is not None:
            grip = clock.during(self.script.effort_s, 20.0, 0.4)
            x += (
                muscle(clock, self.rng, setup.effort_uv)
                * grip
                * (1 + 0.15 * clock.slow(self.rng, 1.5))
            )
        x += 0.5 * setup.movement_uv * clock.slow(self.rng, 1.0)
        a, b = x / 2, -x / 2
        for fault in self.faults:
            a, b = _joined(fault, a, b, setup.electrode_kohm)
        return a, b


def _joined(
    fault: Fault, a: np.ndarray, b: np.ndarray, electrode_kohm: tuple[float, float, float]
) -> tuple[np.ndarray, np.ndarray]:
    """Potentials at both inputs where two leads of a wearer touch, leak, or sit in each other's
    socket.
    """
    pair = str(fault.lead).split("+")
    if fault.kind in ("leads_shorted", "leaking_leads"):
        behind_kohm = sum(electrode_kohm[("A", "B", "ground").index(lead)] for lead in pair)
        left = fault.severity / (fault.severity + behind_kohm)
        return (a * left if "A" in pair else a), (b * left if "B" in pair else b)
    if fault.kind == "swapped_sockets":
        return (-a, b - a) if "A" in pair else (a - b, -b)
    return a, b
