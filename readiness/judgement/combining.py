"""From the stored results of a kit's captures to one verdict on the kit, and the sentence packing
is refused with.

Imports no Django. The judgement itself is the engine's (``kit_verdict``); here its parts are put
together and worded.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from readiness.judgement.sentences import finding_for_people
from readiness.signal.bench_tests.findings import Finding
from readiness.signal.kit import kit_verdict
from readiness.signal.score import Event, Measurement, Result, Scores
from readiness.signal.statistics.decision import FIT, NOT_FIT, RETEST

OPEN = ""
"""Tests of the plan are missing, and nothing stands against the kit so far."""

TITLES = {
    "open_lead": "Open lead",
    "intermittent_lead": "Intermittent lead",
    "leads_shorted": "Leads shorted",
    "dead_channel": "Dead channel",
    "saturated": "Saturated input",
    "stuck_bits": "Stuck converter bits",
    "clipped": "Clipped trace",
    "excess_noise": "Too much noise",
    "low_frequency_noise": "Slow noise",
    "burst_noise": "Noise in bursts",
    "bench_interference": "Hum of the room",
    "not_on_bar": "Not on the bar",
    "worn_not_shorted": "Worn, not on the bar",
    "moved_too_early": "Moved too early",
    "wrong_order": "Other order",
    "lead_unproven": "Not proven: lead",
    "wrong_scale": "Wrong scale",
    "missing_samples": "Samples missing",
    "time_base": "Time base",
    "battery_low": "Battery low",
    "battery_sagging": "Battery sags",
    "battery_missing": "No battery reading",
}


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
    results = {test: result_of(stored) for test, stored in newest.items()}
    said = kit_verdict(results, plan)
    findings = [_stored(found, _test_of(found, newest)) for found in said.findings]
    findings = _standing(earlier, findings) + findings
    verdict = NOT_FIT if any(f["verdict"] == NOT_FIT for f in findings) else said.verdict
    if verdict == RETEST and said.missing and not _anything_against(results):
        verdict = OPEN
    scores = {name: getattr(said.scores, name) for name in ("continuity", "noise", "battery")}
    sentence = _sentence(verdict, findings, said.missing, said.action)
    faulty = {f["lead"] for f in findings if f["verdict"] == NOT_FIT}
    # A lead that reacts when lifted and still opens when bent is connected, and is not to be
    # trusted.
    proven = [lead for lead in said.proven if lead not in faulty]
    return Combined(verdict, sentence, findings, proven, scores, said.missing)


def result_of(stored: Mapping[str, Any]) -> Result:
    """The engine's result from its stored form."""
    return Result(
        test=stored["test"],
        verdict=stored["verdict"],
        scores=Scores(**stored["scores"]),
        findings=tuple(Finding(**{k: f[k] for k in _FINDING}) for f in stored["findings"]),
        measurements=tuple(Measurement(**m) for m in stored["measurements"]),
        proven=tuple(stored.get("proven", ())),
        events=tuple(Event(*event) for event in stored.get("events", ())),
        windows=tuple((name, start, end) for name, start, end in stored.get("windows", ())),
        mains_hz=stored["mains_hz"],
    )


_FINDING = ("code", "aspect", "lead", "verdict", "text", "action")


def _stored(found: Finding, test: str) -> dict[str, Any]:
    return finding_for_people({**{name: getattr(found, name) for name in _FINDING}, "test": test})


def _test_of(found: Finding, newest: Mapping[str, Mapping[str, Any]]) -> str:
    """The test a finding came from: the one that says the same, else the one whose code it is, else
    none.
    """
    for same in ("text", "code"):
        for test, stored in newest.items():
            if any(f[same] == getattr(found, same) for f in stored["findings"]):
                return test
    return ""


def _standing(
    earlier: Sequence[Mapping[str, Any]], now: list[dict[str, Any]]
) -> list[dict[str, Any]]:
    known = {(f["code"], f["lead"]) for f in now if f["verdict"] == NOT_FIT}
    standing = []
    for stored in earlier:
        for found in stored["findings"]:
            key = (found["code"], found["lead"])
            if (
                found["code"] == "intermittent_lead"
                and found["verdict"] == NOT_FIT
                and key not in known
            ):
                known.add(key)
                text = f"Seen in an earlier capture of this round: {found['text']}"
                standing.append({**found, "text": text, "test": stored["test"]})
    return standing


def _anything_against(results: Mapping[str, Result]) -> bool:
    return any(result.verdict != FIT for result in results.values())


def title_of(found: Mapping[str, Any]) -> str:
    """A finding in few words: ``Intermittent lead B (flex)``."""
    words, lead = TITLES[found["code"]], found["lead"]
    if lead:
        words = f"{words} {lead}" if words.lower().endswith("lead") else f"{words}, lead {lead}"
    return f"{words} ({found['test']})" if found.get("test") else words


def _sentence(
    verdict: str, findings: list[dict[str, Any]], missing: tuple[str, ...], action: str
) -> str:
    against = [f for f in findings if f["verdict"] == (NOT_FIT if verdict == NOT_FIT else RETEST)]
    if verdict in (NOT_FIT, RETEST) and against:
        named = " ".join(f"{title_of(f)}: {_lowered(f['action'])}." for f in against[:3])
        return f"{named} {against[0]['text']}"[:500]
    if verdict == FIT:
        return "All tests of the plan passed."
    if missing:
        return f"Still to be tested: {', '.join(missing)}."
    return f"The bench is not sure of it: {_lowered(action)}."


def _lowered(action: str) -> str:
    return action[:1].lower() + action[1:].rstrip(".")
