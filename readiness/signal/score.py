"""Score a capture: integrity, the bench test, the battery, one verdict. The public face of the
engine.

    report = score_file("K07-still.csv")
    report.to_json()

or, with a capture already read, ``score_capture(capture, limits)``. The verdict on a kit from
several of these is in ``readiness.signal.kit``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np

from .bench_tests.explain import numbered_events
from .bench_tests.findings import NOTE, finding, verdict_of_findings, worst_first
from .bench_tests.judge_battery import battery_findings
from .bench_tests.judge_notes import note_findings
from .bench_tests.raw import is_envelope, raw_findings
from .bench_tests.view import Judgement, View
from .capture import Declared, Recording, need_test
from .errors import CaptureRefused
from .integrity.checks import check_integrity
from .limits import Limits
from .result import Finding, Measurement, Report, Result, Scores
from .spectrum.mains import NOMINAL_HZ
from .statistics.decision import FIT, NOT_FIT, RETEST, verdict_of

SILENCES_CONTINUITY = frozenset({"saturated"})
SILENCES_NOISE = frozenset({"dead_channel", "stuck_bits", "clipped"})
"""A "not fit" of these codes leaves nothing of the score: it is zero."""
SPLIT_HZ = 1.0
SCALE = "wrong_scale"
USUAL_MAINS_HZ = 50.0
HUM_TESTS = ("still", "flex", "lift")
"""A kit's verdict compares the hum of a held bar with that of a bare one."""


def score_capture(
    capture: Recording, limits: Limits | None = None, test: str | None = None
) -> Result:
    """Judge one capture.

    Parameters
    ----------
    capture : Recording
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
    limits = limits or Limits()
    test = need_test(capture.test or test)
    if capture.test is None:
        # The integrity checks ask the capture itself what was done.
        capture = replace(capture, test=test)
    view = View(capture, limits, test)
    notes = (*capture.notes, *check_integrity(capture))
    noticed, blocked = note_findings(notes, view)
    noticed += _mains_findings(view, blocked)
    wrong_rate = any(finding.code == "time_base" for finding in noticed)
    refused = any(item.verdict == NOT_FIT for item in noticed) and not blocked
    processed = () if refused else _processed(view, blocked=blocked or wrong_rate)
    not_raw = any(item.verdict == RETEST for item in processed)
    if not_raw and blocked:
        # What a program made of a trace also looks like a stop, a dead channel or a wrong unit.
        noticed = tuple(item for item in noticed if item.aspect == "capture" and item.code != SCALE)
    noticed += processed
    measurable = not (blocked or wrong_rate or not_raw)
    judgement = view.kind.judge(view) if measurable else Judgement()
    battery, battery_score, battery_rows = battery_findings(capture.battery_v, limits)
    findings = worst_first(_once((*noticed, *judgement.findings, *battery)))
    return Result(
        test=test,
        verdict=_verdict(findings, judgement, battery_score),
        scores=_scores(noticed, judgement, battery_score),
        findings=findings,
        measurements=(
            *judgement.measurements,
            *_mains_rows(view, blocked),
            *_rate_rows(capture),
            *battery_rows,
        ),
        proven=judgement.proven,
        events=numbered_events(view, judgement.events, findings, measurable=measurable),
        windows=view.kind.spans,
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
        declared = declared or Declared()
        capture = read_capture(path, data=data, declared=declared)
        capture = replace(capture, moved=declared.moved)
        result = score_capture(capture, limits, declared.test)
    except CaptureRefused as refused:
        return Report(name, False, refused.sentence, refused.missing, capture, None)
    except OSError as trouble:
        sentence = f"The file cannot be opened: {trouble.strerror or trouble}."
        return Report(name, False, sentence, "", None, None)
    except (ValueError, ArithmeticError, MemoryError, IndexError, np.linalg.LinAlgError) as trouble:
        sentence = f"The file holds values that cannot be judged ({trouble})."
        return Report(name, False, sentence, "", capture, None)
    return Report(name, True, None, "", capture, result)


def _processed(view: View, *, blocked: bool) -> tuple[Finding, ...]:
    """What was done to the samples; of a capture with something against it already only where all
    of it keeps to one side of zero.
    """
    if blocked and not (view.band_wide_enough and is_envelope(view)):
        return ()
    return raw_findings(view)


def _scores(noticed: tuple[Finding, ...], judgement: Judgement, battery: float | None) -> Scores:
    broken = {finding.code for finding in noticed if finding.verdict == NOT_FIT}
    return Scores(
        continuity=0.0 if broken & SILENCES_CONTINUITY else judgement.continuity,
        noise=0.0 if broken & SILENCES_NOISE else judgement.noise,
        battery=battery,
    )


def _verdict(findings: tuple[Finding, ...], judgement: Judgement, battery: float | None) -> str:
    """The worst of the findings; and never ``fit`` where a score says otherwise."""
    scores = (judgement.continuity, judgement.noise, battery)
    verdicts = {verdict_of(score) for score in scores if score is not None}
    verdicts.add(verdict_of_findings(findings))
    if NOT_FIT in verdicts:
        return NOT_FIT
    return RETEST if RETEST in verdicts else FIT


def _mains_findings(view: View, blocked: bool) -> tuple[Finding, ...]:
    """The mains line tells whether the time base is right, and whether the setting is."""
    if blocked or view.kind.worn:
        return ()
    stray_hz = view.mains.stray_hz
    # A phone's frames are four times a line of 54 Hz.
    if stray_hz is not None and not (view.trace.clocked or _split_by_hands(view, stray_hz)):
        return (_wrong_rate(stray_hz),)
    declared_hz, mains = view.capture.mains_hz, view.mains
    if mains.present and declared_hz and abs(declared_hz - mains.nominal_hz) > 1:
        return (_wrong_setting(declared_hz, mains.nominal_hz),)
    return ()


def _split_by_hands(view: View, stray_hz: float) -> bool:
    """Whether a line so near to its place may be hum that comes and goes with the hands: it then
    stands beside itself.
    """
    nearest = min(abs(hz - stray_hz) for hz in NOMINAL_HZ)
    return view.kind.act != "rest" and nearest < SPLIT_HZ


def _wrong_rate(stray_hz: float) -> Finding:
    nearest = min(NOMINAL_HZ, key=lambda hz: abs(hz - stray_hz))
    error = 100 * (stray_hz / nearest - 1)
    return finding(
        "time_base",
        RETEST,
        f"The mains line stands at {stray_hz:.2f} Hz: "
        f"the declared sampling rate is wrong by about {error:+.1f} %.",
    )


def _wrong_setting(declared_hz: float, mains_hz: float) -> Finding:
    return finding(
        "bench_interference",
        NOTE,
        f"The setting says {declared_hz:g} Hz but the mains of this room has {mains_hz:g} Hz;"
        " judged with that.",
        action="Correct the mains setting of the bench",
    )


def _mains_hz(view: View, blocked: bool) -> float:
    if not blocked and view.mains.present:
        return view.mains.nominal_hz
    return float(view.capture.mains_hz or view.limits.mains_hz or USUAL_MAINS_HZ)


def _rate_rows(capture: Recording) -> tuple[Measurement, ...]:
    """The rate of a recording that was decimated before it was judged."""
    if capture.recorded_hz is None:
        return ()
    return (Measurement("recorded_rate", capture.recorded_hz / 1e3, "kHz"),)


def _mains_rows(view: View, blocked: bool) -> tuple[Measurement, ...]:
    if blocked:
        return ()
    mains = view.mains
    low, high = max(0.0, mains.rms_uv - 2 * mains.u_uv), mains.rms_uv + 2 * mains.u_uv
    rows = [Measurement("mains_rms", mains.rms_uv, "uV", low, high, view.limits.hum_uv)]
    if mains.present:
        rows.append(Measurement("mains_frequency", mains.frequency_hz, "Hz"))
    if view.test in HUM_TESTS:
        rows.append(Measurement("still_part_hum", view.still_hum_uv, "uV"))
        rows.append(Measurement("hum_uncertainty", view.trace.hum_u, "uV"))
    return tuple(rows)


def _once(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Each code and lead once: the worst, and of two as bad the first, for integrity speaks before
    the tests do.
    """
    first: dict[tuple[str, str | None], Finding] = {}
    for item in worst_first(findings):
        first.setdefault((item.code, item.lead), item)
    return tuple(first.values())
