"""Score a capture: integrity, the bench test, the battery, one verdict. The public face of the
engine.

    report = score_file("K07-still.csv")
    report.to_json()

or, with a capture already read, ``score_capture(capture, limits)``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from .bench_tests import judge
from .bench_tests.findings import Finding, finding, verdict_of_findings, worst_first
from .bench_tests.judge_battery import battery_findings
from .bench_tests.judge_notes import note_findings
from .bench_tests.view import Judged, Measurement, View
from .capture import TESTS, Capture, Channel, Declared
from .errors import CaptureRefused
from .kit import KitVerdict, kit_verdict
from .leads.events import WINDOWS, Event
from .limits import METHOD_VERSION, Limits, Meter
from .statistics.decision import FIT, NOT_FIT, RETEST, verdict_of

__all__ = [
    "FIT",
    "METHOD_VERSION",
    "NOT_FIT",
    "RETEST",
    "WINDOWS",
    "Event",
    "Finding",
    "KitVerdict",
    "Limits",
    "Measurement",
    "Meter",
    "Report",
    "Result",
    "Scores",
    "View",
    "kit_verdict",
    "score_capture",
    "score_file",
]


@dataclass(frozen=True)
class Scores:
    """The three headline scores, 0 to 100, ``None`` where this capture does not judge the
    aspect.
    """

    continuity: float | None
    noise: float | None
    battery: float | None


@dataclass(frozen=True)
class Result:
    """What a capture says of its kit. ``events`` and ``windows`` are the evidence the plots
    show.
    """

    test: str
    verdict: str
    scores: Scores
    findings: tuple[Finding, ...]
    measurements: tuple[Measurement, ...]
    proven: tuple[str, ...]
    events: tuple[Event, ...]
    windows: tuple[tuple[str, float, float], ...]
    mains_hz: float
    method_version: str = METHOD_VERSION


@dataclass(frozen=True)
class Report:
    """Answer for one file, readable or not. ``missing`` names the fact that would make a refused
    file readable.
    """

    file: str
    readable: bool
    refusal: str | None
    missing: str
    capture: Capture | None
    result: Result | None

    def to_json(self) -> dict:
        """The stable contract for scripts: exact keys, plain numbers, no NaN."""
        capture, result = self.capture, self.result
        return {
            "file": self.file,
            "readable": self.readable,
            "refusal": self.refusal,
            "kit": capture.kit if capture else None,
            "test": result.test if result else capture.test if capture else None,
            "rate_hz": _number(capture.rate_hz) if capture else None,
            "duration_s": _number(capture.duration_s) if capture else None,
            "mains_hz": _number(result.mains_hz) if result else None,
            "channels": [_channel(channel) for channel in capture.channels] if capture else [],
            "verdict": result.verdict if result else None,
            "scores": {
                "continuity": _number(result.scores.continuity) if result else None,
                "noise": _number(result.scores.noise) if result else None,
                "battery": _number(result.scores.battery) if result else None,
            },
            "findings": [_finding(item) for item in result.findings] if result else [],
            "measurements": [_measurement(item) for item in result.measurements] if result else [],
        }


def score_capture(
    capture: Capture, limits: Limits | None = None, test: str | None = None
) -> Result:
    """Judge one capture.

    Parameters
    ----------
    capture : Capture
        As a reader hands it over.
    limits : Limits or None
        Limits of the kit's type, or of the kit; the defaults where ``None``.
    test : str or None
        Which bench test it is, where the capture does not say.

    Raises
    ------
    CaptureRefused
        When nobody said which test it is.
    """
    from .integrity.checks import check_integrity

    limits = limits or Limits()
    test = capture.test or test
    if test not in TESTS:
        raise CaptureRefused(
            "Which test this is stands nowhere in the file; say still, flex, lift, ground or worn.",
            missing="test",
        )
    view = View(capture, limits, test)
    notes = (*capture.notes, *check_integrity(capture))
    told, blocked = note_findings(notes, view)
    told += _mains_findings(view, blocked)
    wrong_rate = any(item.code == "time_base" for item in told)
    judged = Judged() if blocked or wrong_rate else judge(view)
    battery_told, battery_score, battery_rows = battery_findings(capture.battery_v, limits)
    findings = worst_first(_once((*told, *judged.findings, *battery_told)))
    codes = {item.code for item in told if item.verdict == NOT_FIT}
    return Result(
        test=test,
        verdict=_verdict(findings, judged, battery_score),
        scores=Scores(
            continuity=0.0 if codes & {"saturated"} else judged.continuity,
            noise=0.0 if codes & {"dead_channel", "stuck_bits", "clipped"} else judged.noise,
            battery=battery_score,
        ),
        findings=findings,
        measurements=(*judged.measurements, *_mains_rows(view, blocked), *battery_rows),
        proven=judged.proven,
        events=judged.events,
        windows=WINDOWS[test],
        mains_hz=_mains_hz(view, blocked),
    )


def score_file(
    path: str | Path,
    data: bytes | None = None,
    declared: Declared | None = None,
    limits: Limits | None = None,
) -> Report:
    """Read and judge one file; every refusal, expected or not, is an answer and never an exception.

    Parameters
    ----------
    path : str or Path
        The file, or only its name where ``data`` holds its bytes.
    declared : Declared or None
        What the operator says for a file that does not say it itself.
    """
    from .readers import read_capture

    name = str(path)
    capture = None
    try:
        capture = read_capture(path, data=data, declared=declared or Declared())
        result = score_capture(capture, limits, declared.test if declared else None)
    except CaptureRefused as refused:
        return Report(name, False, refused.sentence, refused.missing, capture, None)
    except OSError as trouble:
        return Report(
            name,
            False,
            f"The file cannot be opened: {trouble.strerror or trouble}.",
            "",
            None,
            None,
        )
    except (ValueError, ArithmeticError, MemoryError, IndexError, np.linalg.LinAlgError) as trouble:
        return Report(
            name,
            False,
            f"The file holds values that cannot be judged ({trouble}).",
            "",
            capture,
            None,
        )
    return Report(name, True, None, "", capture, result)


def _verdict(findings: tuple[Finding, ...], judged: Judged, battery: float | None) -> str:
    """The worst of the findings; and never ``fit`` where a score says otherwise."""
    verdicts = {verdict_of_findings(findings)}
    verdicts |= {
        verdict_of(score)
        for score in (judged.continuity, judged.noise, battery)
        if score is not None
    }
    return NOT_FIT if NOT_FIT in verdicts else RETEST if RETEST in verdicts else FIT


def _mains_findings(view: View, blocked: bool) -> tuple[Finding, ...]:
    """The mains line tells whether the time base is right, and whether the setting is."""
    if blocked or view.test == "worn":
        return ()
    mains = view.mains
    if mains.stray_hz is not None:
        stray = mains.stray_hz
        error = 100 * (stray / min((50.0, 60.0), key=lambda hz: abs(hz - stray)) - 1)
        return (
            finding(
                "time_base",
                RETEST,
                f"The mains line stands at {mains.stray_hz:.2f} Hz: "
                f"the declared sampling rate is wrong by about {error:+.1f} %.",
            ),
        )
    said = view.capture.mains_hz
    if mains.present and said and abs(said - mains.nominal_hz) > 1:
        text = (
            f"The setting says {said:g} Hz but the mains of this room has {mains.nominal_hz:g} Hz;"
            " judged with that."
        )
        return (
            finding(
                "bench_interference", "note", text, action="Correct the mains setting of the bench"
            ),
        )
    return ()


def _mains_hz(view: View, blocked: bool) -> float:
    if not blocked and view.mains.present:
        return view.mains.nominal_hz
    return float(view.capture.mains_hz or view.limits.mains_hz or 50.0)


def _mains_rows(view: View, blocked: bool) -> tuple[Measurement, ...]:
    if blocked:
        return ()
    mains = view.mains
    rows = [
        Measurement(
            "mains_rms",
            mains.rms_uv,
            "uV",
            max(0.0, mains.rms_uv - 2 * mains.u_uv),
            mains.rms_uv + 2 * mains.u_uv,
            view.limits.hum_uv,
        )
    ]
    if mains.present:
        rows.append(Measurement("mains_frequency", mains.frequency_hz, "Hz"))
    if view.test in (
        "still",
        "lift",
    ):  # a kit's verdict compares the hum of a held bar with that of a bare one
        rows.append(Measurement("still_part_hum", view.still_hum_uv, "uV"))
        rows.append(Measurement("hum_uncertainty", view.trace.hum_u, "uV"))
    return tuple(rows)


def _once(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Each code and lead once: the worst, and of two as bad the first, for integrity speaks before
    the tests do.
    """
    kept: dict[tuple[str, str | None], Finding] = {}
    for item in worst_first(findings):
        kept.setdefault((item.code, item.lead), item)
    return tuple(kept.values())


def _number(value: float | None) -> float | None:
    """A plain finite number, or ``None``: JSON knows no NaN."""
    if value is None or not math.isfinite(value):
        return None
    value = float(value)
    return int(value) if value.is_integer() and abs(value) < 1e15 else value


def _channel(channel: Channel) -> dict:
    first = [_number(float(value)) for value in channel.samples[:3]]
    return {
        "label": channel.label,
        "role": channel.role,
        "unit": channel.unit,
        "rate_hz": _number(channel.rate_hz),
        "samples": len(channel.samples),
        "first": first,
    }


def _finding(item: Finding) -> dict:
    return {
        "code": item.code,
        "aspect": item.aspect,
        "lead": item.lead,
        "verdict": item.verdict,
        "text": item.text,
        "action": item.action,
    }


def _measurement(item: Measurement) -> dict:
    return {
        "name": item.name,
        "value": _number(item.value),
        "unit": item.unit,
        "low": _number(item.low),
        "high": _number(item.high),
        "limit": _number(item.limit),
    }
