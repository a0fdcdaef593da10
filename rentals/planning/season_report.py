"""The calibration table of a study of seasons, as text. Pure."""

from __future__ import annotations

from collections.abc import Iterable

from rentals.planning.season_study import CalibrationRow, LawCalibration

LOW, HIGH = 0.87, 0.93
"""Between these shares the statements made at 90 % must come true."""


def calibration_lines(found: Iterable[LawCalibration]) -> Iterable[str]:
    """The table of each law as soon as it is there: chances stated, and what came true, in
    percent with the number of statements behind them.
    """
    for law in found:
        trends = law.trends / law.seasons
        yield f"{law.law} ({law.seasons} seasons; a clear trend seen in {trends:.1%})"
        nine = law.nine_in_ten
        verdict = "within" if LOW <= nine.true / nine.statements <= HIGH else "NOT within"
        yield (
            f"  stated at 90 %: came true in {nine.true / nine.statements:.1%} of"
            f" {nine.statements}, {verdict} {LOW:.0%} to {HIGH:.0%}"
        )
        yield from _tenths("whole runs served", law.runs)
        yield from _tenths("single kits ready", law.kits)


def _tenths(title: str, rows: list[CalibrationRow]) -> Iterable[str]:
    shown = [row for row in rows if row.statements]
    yield f"  {title:18}" + "".join(f"{row.stated / row.statements:7.0%}" for row in shown)
    yield f"  {'came true':18}" + "".join(f"{row.true / row.statements:7.0%}" for row in shown)
    yield f"  {'statements':18}" + "".join(f"{row.statements:7d}" for row in shown)
