"""The study's tables as text."""

from __future__ import annotations

import math
from typing import Any

from readiness.signal.catalogue import CATALOGUE
from readiness.signal.simulator.captures import LEAD_KINDS
from readiness.signal.statistics.decision import FIT, NOT_FIT
from readiness.signal.statistics.shares import Share
from readiness.signal.study.cohort import PLANS, KitScored
from readiness.signal.study.curves import DURATIONS_S, LeakPoint, NoisePoint, OpenPoint

GOALS = (
    # figure, words, goal for the three tests, goal with the ground test (None: stated, no goal)
    ("fault_passed", "kit fault passed as fit, intermittent ground apart", 0.003, 0.003),
    ("worst_fault_passed", "... of the fault that is passed most", 0.01, 0.01),
    ("ground_gap_passed", "intermittent ground passed as fit", None, 0.02),
    ("sound_not_fit", "sound kit called not fit", 0.002, 0.002),
    ("sound_retest_but_ground", "sound kit called retest, unproven ground apart", 0.01, 0.01),
    ("sound_retest", "sound kit called retest for any reason", None, 0.03),
    ("hum_called_fault", "strong hum on a sound kit called not fit", 0.005, 0.005),
    ("friction_called_fault", "friction of a sound cable called not fit", 0.005, 0.005),
    ("named_right", "lead faults called not fit: lead named rightly", 0.90, 0.90),
    ("named_wrong", "lead faults called not fit: lead named wrongly", 0.01, 0.01),
    ("named_none", "lead faults called not fit: lead left open", None, None),
)
AT_LEAST = ("named_right",)


def report(
    figures: dict[str, Any],
    opens: list[OpenPoint],
    noise: list[NoisePoint],
    leaks: list[LeakPoint],
) -> str:
    """The whole study as text: goals, tables by plan and by test, coverage, speed, curves."""
    parts = [
        f"{figures['kits']} kits, {figures['captures']} captures. Shares with exact 95 % binomial"
        " intervals."
    ]
    for plan in PLANS:
        parts += ["", f"Kit judged on {plan}", *_goal_lines(figures["goals"][plan], plan), ""]
        parts += _table_lines(figures["plans"][plan], frozenset())
    for test in CATALOGUE:
        parts += [
            "",
            f"`{test}` alone",
            *_table_lines(figures["tests"][test], frozenset(figures["cannot_see"][test])),
        ]
    parts += ["", *_movement_lines(figures["movement"])]
    parts += ["", *_coverage_lines(figures["coverage"]), "", *_speed_lines(figures["ms"])]
    if opens:
        parts += ["", *open_lines(opens)]
    if noise:
        parts += ["", *noise_lines(noise)]
    if leaks:
        parts += ["", *leak_lines(leaks)]
    return "\n".join(parts)


def _goal_lines(goals: dict[str, Share], plan: str) -> list[str]:
    lines = []
    for name, words, three, four in GOALS:
        goal = four if plan == "with ground" else three
        lines.append(
            f"  {words:<52} {goals[name]!s:<32} {_judged(goals[name], goal, name in AT_LEAST)}"
        )
    return lines


def _judged(share: Share, goal: float | None, at_least: bool) -> str:
    if goal is None:
        return "stated"
    if not share.total:
        return "no case"
    sign, met = (">=", share.value >= goal) if at_least else ("<=", share.value <= goal)
    low, high = share.interval
    sure = (high < goal or low > goal) if goal else False
    return (
        f"{sign} {100 * goal:g} %:"
        f" {'met' if met else 'MISSED'}{'' if sure else ' (too few kits to be sure)'}"
    )


def _table_lines(rows: list[dict[str, Any]], unseen: frozenset[str]) -> list[str]:
    head = (
        f"  {'case':<26} {'n':>5} {'fit':>7} {'retest':>7} {'not fit':>7}"
        f" {'wrong verdict, 95 %':>21} {'code':>7}"
    )
    lines = [head + "  lead right/wrong/open"]
    for row in rows:
        line = (
            f"  {row['case']:<26} {row['kits']:>5} {_percent(row['fit'])} {_percent(row['retest'])}"
        )
        line += f" {_percent(row['not fit'])} {_wrong(row):>21} {_percent(row['code'])}"
        if "named_right" in row:
            parts = (row["named_right"], row["named_wrong"], row["named_none"])
            line += "  " + " /".join(_percent(part).rjust(6) for part in parts)
        if row["case"] in unseen:
            line += "  cannot be seen here"
        lines.append(line)
    return lines


def _percent(share: Share) -> str:
    return f"{100 * share.value:6.1f}%" if share.total else "      -"


def _wrong(row: dict[str, Any]) -> str:
    """False accepts of a faulty kit or file, false rejects of a sound kit, whatever the room did to
    it.
    """
    share = row[FIT] if row["group"] in ("kit", "file") else row[NOT_FIT]
    low, high = share.interval
    name = "passed" if row["group"] in ("kit", "file") else "refused"
    return f"{name} {100 * low:.1f}..{100 * high:.1f}%"


def _coverage_lines(coverage: dict[str, Any]) -> list[str]:
    lines = ["Noise floor: 95 % interval against the true noise"]
    for test, row in coverage.items():
        if not math.isfinite(row["mean_ratio"]):
            continue  # this test states no noise floor
        ratio = (
            f"mean measured/true {row['mean_ratio']:.4f}, mean width"
            f" {100 * row['mean_width']:.1f} %"
        )
        lines.append(f"  {test:<6} holds the truth in {row['inside']}; {ratio}")
    return lines


def _movement_lines(shares: dict[str, Share]) -> list[str]:
    """Whether the leads of a flex were moved: honest hands, and stills offered as flex."""
    return [
        "Movement of the leads in flex, sound kits",
        f"  honest flex sent back                        {_goal_of(shares['sent_back'], 0.005)}",
        f"  honest flex to be confirmed by the operator  {shares['confirmed']}",
        f"  still offered as flex not passed, high-pass up to 10 Hz"
        f"  {_goal_of(shares['caught'], 0.95, at_least=True)}",
        f"  ... high-pass above 10 Hz                    {shares['caught_above']}",
    ]


def _goal_of(share: Share, goal: float, *, at_least: bool = False) -> str:
    return f"{share!s:<32} {_judged(share, goal, at_least)}"


def _speed_lines(ms: dict[str, float]) -> list[str]:
    parts = ", ".join(f"{test} {ms[test]:.1f} ({ms[f'{test} 95 %']:.1f})" for test in CATALOGUE)
    return [f"Milliseconds to score one capture, median (95 % point): {parts}"]


def open_lines(points: list[OpenPoint]) -> list[str]:
    """Detection against the duration of a single open."""
    lines = [
        "One open, by duration in ms: share of captures called not fit, and below it not passed"
        " (retest too)"
    ]
    lines.append("  test, lead      " + "".join(f"{1e3 * d:>7g}" for d in DURATIONS_S))
    series: dict[tuple[str, str], dict[float, OpenPoint]] = {}
    for p in points:
        series.setdefault((p.test, p.lead), {})[p.seconds] = p
    for (test, lead), row in series.items():
        not_fit = "".join(_percent(row[d].not_fit) for d in DURATIONS_S)
        not_passed = "".join(_percent(row[d].not_passed) for d in DURATIONS_S)
        lines.append(
            f"  {test + ' ' + lead:<16}{not_fit}  (n = {next(iter(row.values())).not_fit.total})"
        )
        lines.append(f"  {'':<16}{not_passed}")
    return lines


def noise_lines(points: list[NoisePoint]) -> list[str]:
    """Detection against noise in units of its limit, with the power of the best possible test."""
    lines = [
        "Noise above the limit, `still` at 1024 Hz; theory: chi-square power for 2 B T degrees of"
        " freedom"
    ]
    lines.append(f"  {'times':>6} {'not fit':>9} {'theory':>8} {'not passed':>11} {'theory':>8}")
    for p in points:
        fails, passed = 100 * p.theory.fails, 100 * p.theory.not_passed
        measured = (
            f"{p.times:>6g} {_percent(p.fails):>9} {fails:>7.1f}% {_percent(p.not_passed):>11}"
            f" {passed:>7.1f}%"
        )
        lines.append(f"  {measured}  (n = {p.fails.total})")
    return lines


def leak_lines(points: list[LeakPoint]) -> list[str]:
    """Detection of leaking insulation against its resistance."""
    lines = [
        "Leads whose insulation leaks, in `lift`, by kilohm",
        f"  {'kohm':>6}  not fit  unproven",
    ]
    lines += [
        f"  {p.kohm:>6g}  {_percent(p.not_fit)}  {_percent(p.not_passed)}  (n = {p.not_fit.total})"
        for p in points
    ]
    return lines


def kit_lines(kit: KitScored) -> str:
    """One kit of the study: what it suffers from and what was found, test by test."""
    lines = [f"kit {kit.number}: {kit.case.label}, room {kit.room}, {kit.fault}"]
    for name, view in [*((t, s.answer) for t, s in kit.tests.items()), *kit.plans.items()]:
        findings = ", ".join(
            f"{code}{f' {lead}' if lead else ''} ({verdict})"
            for code, lead, verdict in view.findings
        )
        lines.append(f"  {name:<16} {view.verdict:<8} {findings}")
    return "\n".join(lines)


def miss_lines(kits: list[KitScored]) -> list[str]:
    """A line for each wrong verdict of a plan: fault passed, sound kit held up or blamed for the
    bench, wrong lead.
    """
    lines = []
    for kit in kits:
        for plan, view in kit.plans.items():
            held_up = (
                kit.case.group == "sound" and view.verdict != FIT and not view.only_ground_unproven
            )
            passed = kit.case.group in ("kit", "file") and view.verdict == FIT
            blamed = kit.case.group == "bench" and view.verdict == NOT_FIT
            wrong_lead = (
                kit.case.kind in LEAD_KINDS
                and view.verdict == NOT_FIT
                and view.named_leads - {kit.case.lead}
            )
            if held_up or passed or blamed or wrong_lead:
                lines.append(f"{plan:<16} {view.verdict:<8} {kit_lines(kit).splitlines()[0]}")
    return lines
