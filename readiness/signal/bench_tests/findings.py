"""What a test found, as a sentence and one next action for the operator."""

from __future__ import annotations

from dataclasses import dataclass

from readiness.signal.leads.events import Event
from readiness.signal.statistics.decision import FIT, NOT_FIT, RETEST

NOTE = "note"
ASPECTS = ("continuity", "noise", "battery", "capture", "bench")

ASPECT_OF = {
    "open_lead": "continuity",
    "intermittent_lead": "continuity",
    "leads_shorted": "continuity",
    "lead_unproven": "continuity",
    "dead_channel": "noise",
    "saturated": "continuity",
    "stuck_bits": "noise",
    "clipped": "noise",
    "excess_noise": "noise",
    "low_frequency_noise": "noise",
    "burst_noise": "noise",
    "bench_interference": "bench",
    "not_on_bar": "bench",
    "worn_not_shorted": "bench",
    "moved_too_early": "bench",
    "wrong_order": "bench",
    "wrong_scale": "capture",
    "missing_samples": "capture",
    "time_base": "capture",
    "battery_low": "battery",
    "battery_sagging": "battery",
    "battery_missing": "battery",
}
CODES = tuple(ASPECT_OF)

ACTION_OF = {
    "open_lead": "Replace the lead set and test again",
    "intermittent_lead": "Replace the lead set and test again",
    "leads_shorted": "Replace the lead set and test again",
    "lead_unproven": "Run the lift test again, holding the bar in the bare hand",
    "dead_channel": (
        "Check that the amplifier is switched on and plugged in; if it stays silent, send it to"
        " repair"
    ),
    "saturated": (
        "Press all three snaps on the bar and test again; if it stays, replace the lead set"
    ),
    "stuck_bits": "Send the amplifier to repair",
    "clipped": "Send the amplifier to repair",
    "excess_noise": (
        "Replace the lead set and test again; if the noise stays, send the amplifier to repair"
    ),
    "low_frequency_noise": (
        "Clean the snaps and test again; if it stays, send the amplifier to repair"
    ),
    "burst_noise": (
        "Test again at another place; if the bursts come again, send the amplifier to repair"
    ),
    "bench_interference": "Run the laptop on battery, move away from mains leads and test again",
    "not_on_bar": "Press all three snaps on the bar and test again",
    "worn_not_shorted": "Put the three snaps on the bar, not on the body, and test again",
    "moved_too_early": "Test again and keep still until the screen calls",
    "wrong_order": "No need to test again; keep to the order A, B, ground next time",
    "wrong_scale": "Set the unit of the file and score it again",
    "missing_samples": "Record the test again",
    "time_base": "Check the sampling rate of the file and record the test again",
    "battery_low": "Charge or replace the pack",
    "battery_sagging": "Replace the pack and check its contacts",
    "battery_missing": "Type in the battery voltage under load",
}


@dataclass(frozen=True)
class Finding:
    """One finding. ``verdict`` is ``retest``, ``not fit`` or ``note``; ``lead`` is ``A``, ``B``,
    ``ground`` or None.
    """

    code: str
    aspect: str
    lead: str | None
    verdict: str
    text: str
    action: str
    events: tuple[Event, ...] = ()


def finding(
    code: str,
    verdict: str,
    text: str,
    *,
    lead: str | None = None,
    action: str | None = None,
    events: tuple[Event, ...] = (),
) -> Finding:
    """A finding with the aspect and the usual next action of its code.

    Raises
    ------
    ValueError
        For a code or a verdict that does not exist.
    """
    if code not in ASPECT_OF:
        raise ValueError(f"finding code {code!r} is none of {', '.join(CODES)}")
    if verdict not in (RETEST, NOT_FIT, NOTE):
        raise ValueError(f"a finding's verdict is retest, not fit or note, not {verdict!r}")
    if action is None:
        action = f"Replace lead {lead}" if lead and verdict == NOT_FIT else ACTION_OF[code]
    return Finding(code, ASPECT_OF[code], lead, verdict, text, action, events)


def verdict_of_findings(findings: tuple[Finding, ...]) -> str:
    """The worst verdict among findings; notes do not count."""
    verdicts = {item.verdict for item in findings}
    if NOT_FIT in verdicts:
        return NOT_FIT
    return RETEST if RETEST in verdicts else FIT


def worst_first(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Findings in the order to read them: what the kit did, what to do again, notes."""
    return tuple(sorted(findings, key=lambda item: (NOT_FIT, RETEST, NOTE).index(item.verdict)))
