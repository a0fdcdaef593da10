"""From the stored results of a kit's captures to one verdict on the kit, and the sentence packing
is refused with.

Imports no Django. The judgement itself is the engine's (``kit_verdict``); here its parts are put
together and worded.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from readiness.judgement.sentences import finding_for_people
from readiness.signal.bench_tests.findings import FINDING_KINDS
from readiness.signal.kit import kit_verdict
from readiness.signal.result import Finding, Result, from_stored
from readiness.signal.statistics.decision import FIT, NOT_FIT, RETEST

OPEN = ""
"""Tests of the plan are missing, and nothing stands against the kit so far."""
MOST_NAMED = 3
LONGEST_SENTENCE = 500


@dataclass(frozen=True)
class Combined:
    """Verdict on a kit (or ``OPEN``), the sentence for people, findings as stored, leads proven,
    headline scores.
    """

    verdict: str
    sentence: str
    findings: list[dict[str, Any]]
    proven: list[str]
    scores: dict[str, float | None]
    missing: tuple[str, ...]


def combine(
    newest: Mapping[str, Mapping[str, Any]],
    plan: tuple[str, ...],
    earlier: Sequence[Mapping[str, Any]] = (),
) -> Combined:
    """Judge a kit on its stored results.

    Parameters
    ----------
    newest : mapping
        The newest stored result of each test of the round (see
        ``readiness.judgement.judging.judge``).
    plan : tuple of str
        Tests the kit must pass.
    earlier : sequence
        Older results of the same round. An intermittent lead found in one of them stands: that it
        did not show a second time is what intermittent means. It goes with a new part, or with the
        capture being set aside.
    """
    results = {test: from_stored(stored) for test, stored in newest.items()}
    judged = kit_verdict(results, plan)
    findings = [_stored(finding, _test_of(finding, newest)) for finding in judged.findings]
    findings = _standing(earlier, findings) + findings
    against = [finding for finding in findings if finding["verdict"] == NOT_FIT]
    verdict = NOT_FIT if against else judged.verdict
    if verdict == RETEST and judged.missing and not _anything_against(results):
        verdict = OPEN
    # A lead that reacts when lifted and still opens when bent is connected, and is not to be
    # trusted.
    faulty = {finding["lead"] for finding in against}
    return Combined(
        verdict=verdict,
        sentence=_sentence(verdict, findings, judged.missing, judged.action),
        findings=findings,
        proven=[lead for lead in judged.proven if lead not in faulty],
        scores=asdict(judged.scores),
        missing=judged.missing,
    )


def _stored(finding: Finding, test: str) -> dict[str, Any]:
    return finding_for_people({**asdict(finding), "test": test})


def _test_of(finding: Finding, newest: Mapping[str, Mapping[str, Any]]) -> str:
    """The test a finding came from: the one that says the same, else the one whose code it is, else
    none.
    """
    for key in ("text", "code"):
        for test, stored in newest.items():
            if any(row[key] == getattr(finding, key) for row in stored["findings"]):
                return test
    return ""


def _standing(
    earlier: Sequence[Mapping[str, Any]], findings: list[dict[str, Any]]
) -> list[dict[str, Any]]:
    """Findings of earlier captures that stand though the newest ones do not show them."""
    reported = {(row["code"], row["lead"]) for row in findings if row["verdict"] == NOT_FIT}
    standing = []
    for stored in earlier:
        for row in stored["findings"]:
            key = (row["code"], row["lead"])
            if key in reported or row["verdict"] != NOT_FIT:
                continue
            if not FINDING_KINDS[row["code"]].stands:
                continue
            reported.add(key)
            text = f"Seen in an earlier capture of this round: {row['text']}"
            standing.append({**row, "text": text, "test": stored["test"]})
    return standing


def _anything_against(results: Mapping[str, Result]) -> bool:
    return any(result.verdict != FIT for result in results.values())


def title_of(finding: Mapping[str, Any]) -> str:
    """A finding in few words: ``Intermittent lead B (flex)``."""
    title, lead = FINDING_KINDS[finding["code"]].title, finding["lead"]
    if lead:
        joint = " " if title.lower().endswith("lead") else ", lead "
        title = f"{title}{joint}{lead}"
    return f"{title} ({finding['test']})" if finding.get("test") else title


def _sentence(
    verdict: str, findings: list[dict[str, Any]], missing: tuple[str, ...], action: str
) -> str:
    against = [finding for finding in findings if finding["verdict"] == verdict]
    if verdict in (NOT_FIT, RETEST) and against:
        actions = [f"{title_of(row)}: {_lowered(row['action'])}." for row in against[:MOST_NAMED]]
        return f"{' '.join(actions)} {against[0]['text']}"[:LONGEST_SENTENCE]
    if verdict == FIT:
        return "All tests of the plan passed."
    if missing:
        return f"Still to be tested: {', '.join(missing)}."
    return f"The bench is not sure of it: {_lowered(action)}."


def _lowered(action: str) -> str:
    return action[:1].lower() + action[1:].rstrip(".")
