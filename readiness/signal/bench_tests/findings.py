"""All that can be found: one definition for each finding, its sentence left to whoever judges.

Screens take the title and the place where a finding is mended from here, judges the aspect and the
usual next action.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from readiness.signal.result import Finding, Result
from readiness.signal.statistics.decision import FIT, NOT_FIT, RETEST

NOTE = "note"
HIDDEN = "slow_passed"
"""Named so, a measurement says that the amplifier hides a cable's movement: then the operator's
word counts.
"""

TICK = "Tick that each lead was moved through its window, or record flex again"
"""What to do where the operator's word counts."""
WORST_FIRST = (NOT_FIT, RETEST, NOTE)
"""Verdicts in the order to read them: what the kit did, what to do again, notes."""

Aspect = Literal["continuity", "noise", "battery", "capture", "bench"]
Place = Literal["lead set", "battery", "kit"]


@dataclass(frozen=True)
class FindingKind:
    """One kind of finding.

    Attributes
    ----------
    code : str
        As files, rows and ``score --json`` name it.
    aspect : str
        What it speaks of: a score of the kit, the ``capture`` or the ``bench``.
    verdicts : tuple of str
        What it may say, the usual one first.
    title : str
        In few words, for lists; the lead and the test are added to it.
    action : str
        The one next action, where a judge knows no better and no lead is named.
    mended_at : str
        Where a "not fit" is mended.
    stands : bool
        Holds for the whole round, though a later capture does not show it again.
    """

    code: str
    aspect: Aspect
    verdicts: tuple[str, ...]
    title: str
    action: str
    mended_at: Place = "kit"
    stands: bool = False

    @property
    def usual_verdict(self) -> str:
        """The verdict where nothing else is known, as of a reader's note."""
        return self.verdicts[0]


_SURE_OR_NOT = (NOT_FIT, RETEST)
_REPLACE_LEADS = "Replace the lead set and test again"

_KINDS = (
    FindingKind(
        "open_lead", "continuity", _SURE_OR_NOT, "Open lead", _REPLACE_LEADS, mended_at="lead set"
    ),
    FindingKind(
        "intermittent_lead",
        "continuity",
        _SURE_OR_NOT,
        "Intermittent lead",
        _REPLACE_LEADS,
        mended_at="lead set",
        # That it did not show a second time is what intermittent means.
        stands=True,
    ),
    FindingKind(
        "leads_shorted",
        "continuity",
        (NOT_FIT,),
        "Leads shorted",
        _REPLACE_LEADS,
        mended_at="lead set",
    ),
    FindingKind(
        "lead_unproven",
        "continuity",
        (RETEST, NOTE),
        "Not proven: lead",
        "Run the lift test again, holding the bar in the bare hand",
    ),
    FindingKind(
        "dead_channel",
        "noise",
        (NOT_FIT,),
        "Dead channel",
        "Check that the amplifier is switched on and plugged in; if it stays silent, send it to"
        " repair",
    ),
    FindingKind(
        "saturated",
        "continuity",
        (NOT_FIT,),
        "Saturated input",
        "Press all three snaps on the bar and test again; if it stays, replace the lead set",
    ),
    FindingKind(
        "stuck_bits", "noise", (NOT_FIT,), "Stuck converter bits", "Send the amplifier to repair"
    ),
    FindingKind("clipped", "noise", (NOT_FIT,), "Clipped trace", "Send the amplifier to repair"),
    FindingKind(
        "excess_noise",
        "noise",
        _SURE_OR_NOT,
        "Too much noise",
        "Replace the lead set and test again; if the noise stays, send the amplifier to repair",
    ),
    FindingKind(
        "low_frequency_noise",
        "noise",
        _SURE_OR_NOT,
        "Slow noise",
        "Clean the snaps and test again; if it stays, send the amplifier to repair",
    ),
    FindingKind(
        "burst_noise",
        "noise",
        (RETEST,),
        "Noise in bursts",
        "Test again at another place; if the bursts come again, send the amplifier to repair",
    ),
    FindingKind(
        "bench_interference",
        "bench",
        (RETEST, NOTE),
        "Hum of the room",
        "Run the laptop on battery, move away from mains leads and test again",
    ),
    FindingKind(
        "not_on_bar",
        "bench",
        (RETEST,),
        "Not on the bar",
        "Press all three snaps on the bar and test again",
    ),
    FindingKind(
        "worn_not_shorted",
        "bench",
        (RETEST,),
        "Worn, not on the bar",
        "Put the three snaps on the bar, not on the body, and test again",
    ),
    FindingKind(
        "moved_too_early",
        "bench",
        (RETEST,),
        "Moved too early",
        "Test again and keep still until the screen calls",
    ),
    FindingKind(
        "no_movement",
        "bench",
        (RETEST, NOTE),
        "No movement seen",
        "Record flex again and bend each lead through its whole window",
    ),
    FindingKind(
        "wrong_order",
        "bench",
        (RETEST, NOTE),
        "Other order, or swapped plugs",
        "Look at the plugs, then lift again in the order called: A, B, ground",
    ),
    FindingKind(
        "wrong_scale",
        "capture",
        (RETEST,),
        "Wrong scale",
        "Set the unit of the file and score it again",
    ),
    FindingKind(
        "not_raw",
        "capture",
        (RETEST, NOTE),
        "Not the raw signal",
        "Export the raw signal and score it again",
    ),
    FindingKind(
        "repeated_samples",
        "capture",
        (RETEST, NOTE),
        "Samples repeated",
        "Record the test again, and export the raw signal",
    ),
    FindingKind(
        "wrong_post",
        "bench",
        (RETEST,),
        "Not the second post",
        "Put lead A on the second post, with 100 kohm, and record ground again",
    ),
    FindingKind(
        "missing_samples", "capture", (RETEST,), "Samples missing", "Record the test again"
    ),
    FindingKind(
        "time_base",
        "capture",
        (RETEST,),
        "Time base",
        "Check the sampling rate of the file and record the test again",
    ),
    FindingKind(
        "battery_low",
        "battery",
        _SURE_OR_NOT,
        "Battery low",
        "Charge or replace the pack",
        mended_at="battery",
    ),
    FindingKind(
        "battery_sagging",
        "battery",
        _SURE_OR_NOT,
        "Battery sags",
        "Replace the pack and check its contacts",
        mended_at="battery",
    ),
    FindingKind(
        "battery_missing",
        "battery",
        (RETEST,),
        "No battery reading",
        "Type in the battery voltage under load",
        mended_at="battery",
    ),
)

FINDING_KINDS = {kind.code: kind for kind in _KINDS}
"""Every kind of finding by its code."""


def finding(
    code: str, verdict: str, text: str, *, lead: str | None = None, action: str | None = None
) -> Finding:
    """A finding with the aspect and the usual next action of its kind.

    Raises
    ------
    ValueError
        For a code that does not exist, or a verdict its kind never has.
    """
    kind = FINDING_KINDS.get(code)
    if kind is None:
        raise ValueError(f"finding code {code!r} is none of {', '.join(FINDING_KINDS)}")
    if verdict not in kind.verdicts:
        raise ValueError(f"{code} says {' or '.join(kind.verdicts)}, not {verdict!r}")
    if action is None:
        action = f"Replace lead {lead}" if lead and verdict == NOT_FIT else kind.action
    return Finding(code, kind.aspect, lead, verdict, text, action)


def verdict_of_findings(findings: Iterable[Finding]) -> str:
    """The worst verdict among findings; notes do not count."""
    verdicts = {finding.verdict for finding in findings}
    if NOT_FIT in verdicts:
        return NOT_FIT
    return RETEST if RETEST in verdicts else FIT


def worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings in the order to read them; of one verdict, as they came."""
    return tuple(sorted(findings, key=lambda finding: WORST_FIRST.index(finding.verdict)))


def may_be_confirmed(result: Result) -> bool:
    """Whether the operator's word settles what a flex does not show of its leads' movement."""
    unseen = any(item.code == "no_movement" and item.verdict == RETEST for item in result.findings)
    return unseen and result.value_of(HIDDEN) is not None
