"""Whether the leads of a ``flex`` were bent at all: where nothing moved, nothing is proven."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from readiness.signal.bench_tests.baseline import SLOW
from readiness.signal.bench_tests.findings import HIDDEN, NOTE, TICK, finding
from readiness.signal.bench_tests.view import View
from readiness.signal.catalogue import LEADS
from readiness.signal.leads.movement import (
    HIDES_FROM_HZ,
    MOVES,
    PASSES,
    movement_by_lead,
    slow_passed,
    swing_in,
)
from readiness.signal.limits import SLOW_BAND_HZ
from readiness.signal.result import Finding, Measurement
from readiness.signal.spectrum.noise import quantisation_uv
from readiness.signal.statistics.decision import RETEST

COUPLED = (
    "An amplifier that takes slow signals away before its first stage hides a hand, and its own"
    " noise does not tell: state its high-pass in the test plan."
)


@dataclass(frozen=True)
class Moved:
    """What a flex shows of its leads' movement: findings, and the figures they rest on."""

    findings: tuple[Finding, ...]
    measurements: tuple[Measurement, ...]

    @property
    def is_open(self) -> bool:
        """Whether a lead's window is still unproven."""
        return any(item.verdict == RETEST for item in self.findings)


def movement(view: View) -> Moved:
    """Findings for the leads in whose windows nothing moved; notes where the amplifier hides that
    and the operator confirms that they were moved.
    """
    step = view.capture.emg.resolution or 0.0
    least_uv = quantisation_uv(step, SLOW_BAND_HZ[1], view.rate)
    ratios = movement_by_lead(view.trace, view.kind.spans, least_uv)
    rows = tuple(
        Measurement(f"movement_{lead}", min(ratio, 1e6), "ratio", limit=MOVES)
        for lead, ratio in ratios.items()
    )
    # Swings beyond those of a shorted input are a hand's, however restless the still part.
    far_uv = SLOW * view.limits.noise_uv
    unmoved = [
        lead
        for lead, ratio in ratios.items()
        if ratio < MOVES and swing_in(view.trace, view.kind.spans, lead) < far_uv
    ]
    if not unmoved:
        return Moved((), rows)
    hidden = _hidden(view, unmoved)
    return Moved(_findings(view, unmoved, ratios, hidden=bool(hidden)), (*rows, *hidden))


def _hidden(view: View, unmoved: Sequence[str]) -> tuple[Measurement, ...]:
    """How little the amplifier passes of a hand's movement, where that is too little to see it: as
    the kit type states its high-pass, else by its own noise.
    """
    stated_hz = view.limits.high_pass_hz
    if stated_hz is not None:
        # A second-order high-pass at three hertz, in the middle of a hand's movement.
        passed = 1 / (1 + (stated_hz / 3.0) ** 4) ** 0.5
        hides = stated_hz >= HIDES_FROM_HZ
    else:
        passed = slow_passed(view.trace, view.kind.spans, unmoved)
        hides = passed < PASSES
    return (Measurement(HIDDEN, passed, "ratio", limit=PASSES),) if hides else ()


def _findings(
    view: View, unmoved: Sequence[str], ratios: dict[str, float], *, hidden: bool
) -> tuple[Finding, ...]:
    if len(unmoved) == len(LEADS):
        highest = max(ratios.values())
        where = f"any lead's window (at most {highest:.1f} times the still part)"
        return (_finding(view, None, where, hidden=hidden),)
    return tuple(
        _finding(
            view, lead, f"{name} window ({ratios[lead]:.1f} times the still part)", hidden=hidden
        )
        for lead in unmoved
        for name in ("the ground's" if lead == "ground" else f"{lead}'s",)
    )


def _finding(view: View, lead: str | None, where: str, *, hidden: bool) -> Finding:
    seen = f"No movement seen in {where}; a bent lead gives {MOVES} times or more"
    if hidden and view.capture.moved:
        text = (
            f"{seen}, but this amplifier's high-pass leaves nothing of it to be seen. The operator"
            " confirms that each lead was moved through its window."
        )
        return finding("no_movement", NOTE, text, lead=lead, action="Nothing to do")
    if hidden:
        text = f"{seen}; this amplifier's high-pass may leave nothing of it to be seen."
        return finding("no_movement", RETEST, text, lead=lead, action=TICK)
    bend = (
        "each lead" if lead is None else "the ground lead" if lead == "ground" else f"lead {lead}"
    )
    text = f"{seen}: record again."
    if view.limits.high_pass_hz is None:
        text += f" {COUPLED}"
    action = f"Record flex again and bend {bend} through its whole window"
    return finding("no_movement", RETEST, text, lead=lead, action=action)
