"""The kits that a run of files speaks of, each judged on its files together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict
from datetime import UTC, datetime
from typing import Any

from .catalogue import LEADS
from .kit import KitVerdict, kit_verdict
from .result import Report, plain_number

LONG_AGO = datetime(1, 1, 1, tzinfo=UTC)


def judge_kits(
    reports: Sequence[Report], plan: tuple[str, ...] | None = None
) -> Iterator[tuple[str, KitVerdict]]:
    """Kit and verdict for each kit that a report names, in the order in which they come first.

    Of two captures of one test the one taken later counts, and of two that do not say when the one
    that comes later. Files that name no kit, and files that are not readable, are no kit's.
    """
    by_kit: dict[str, list[Report]] = {}
    for report in reports:
        if report.capture and report.result and report.capture.kit:
            key = report.capture.kit.strip().casefold()
            by_kit.setdefault(key, []).append(report)
    for of_kit in by_kit.values():
        in_time = sorted(of_kit, key=_taken)
        results = {item.result.test: item.result for item in in_time if item.result}
        first = of_kit[0].capture
        assert first is not None and first.kit is not None  # as they were gathered
        yield first.kit, kit_verdict(results, plan)


def kit_to_json(kit: str, verdict: KitVerdict) -> dict[str, Any]:
    """The stable contract for scripts: exact keys, plain numbers."""
    return {
        "kit": kit,
        "verdict": verdict.verdict,
        "proven": {lead: lead in verdict.proven for lead in LEADS},
        "scores": {name: plain_number(value) for name, value in asdict(verdict.scores).items()},
        "findings": [asdict(finding) for finding in verdict.findings],
        "lacking": list(verdict.missing),
    }


def kit_in_words(kit: str, verdict: KitVerdict) -> str:
    """The verdict on a kit for people: leads proven, what was found, what lacks, the next act."""
    proven = ", ".join(verdict.proven) or "none"
    lines = [f"kit {kit}: {verdict.verdict.upper()} (leads proven: {proven})"]
    lines += [f"  {item.verdict}: {item.text}" for item in verdict.findings]
    if verdict.missing:
        lines.append(f"  tests that lack: {', '.join(verdict.missing)}")
    return "\n".join([*lines, f"  -> {verdict.action}"])


def _taken(report: Report) -> datetime:
    taken = report.capture.taken if report.capture else None
    if taken is None:
        return LONG_AGO
    return taken if taken.tzinfo else taken.replace(tzinfo=UTC)
