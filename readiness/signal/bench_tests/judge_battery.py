"""Battery readings as findings, a score and rows."""

from __future__ import annotations

from gettext import ngettext

import numpy as np

from readiness.signal.limits import Limits
from readiness.signal.result import Finding, Measurement
from readiness.signal.statistics.decision import NOT_FIT, PASS_SCORE, RETEST, score_of, verdict_of

from .battery import judge_battery
from .findings import finding


def battery_findings(
    readings: np.ndarray | None, limits: Limits
) -> tuple[tuple[Finding, ...], float | None, tuple[Measurement, ...]]:
    """Findings, score (``None`` where there is no reading) and measurements of the battery."""
    battery = judge_battery(readings, limits)
    if battery is None:
        text = (
            "No battery voltage came with the capture."
            if readings is None or not len(readings)
            else ("What stands as battery voltage cannot be one.")
        )
        return (finding("battery_missing", RETEST, text),), None, ()
    limit = limits.battery_limit_v
    rows = [Measurement("battery_end", battery.end_v, "V", battery.low_v, battery.high_v, limit)]
    if battery.sag_v is not None:
        rows.append(Measurement("battery_sag", battery.sag_v, "V", None, None, limits.sag_v))
    findings: list[Finding] = []
    meets, steady = score_of(battery.meets), score_of(battery.steady)
    if meets < PASS_SCORE:
        verdict = verdict_of(meets)
        words = "below" if verdict == NOT_FIT else "not surely above"
        text = (
            f"{battery.end_v:.2f} V under load is {words} {limit:.2f} V "
            f"(meter: {battery.low_v:.2f} to {battery.high_v:.2f} V)."
        )
        findings.append(finding("battery_low", verdict, text))
    if steady < PASS_SCORE:
        text = (
            f"The voltage falls by {battery.sag_v:.2f} V within the capture (limit"
            f" {limits.sag_v:.2f} V)."
        )
        findings.append(finding("battery_sagging", verdict_of(steady), text))
    if battery.too_high:
        cells = ngettext("cell gives", "cells give", limits.cells)
        text = (
            f"{battery.end_v:.2f} V is more than {limits.cells} {limits.chemistry} {cells}: "
            "another chemistry, or just off the charger."
        )
        findings.append(
            finding(
                "wrong_scale",
                RETEST,
                text,
                action="Check the pack's chemistry; let it rest an hour and measure",
            )
        )
    return tuple(findings), min(meets, steady), tuple(rows)
