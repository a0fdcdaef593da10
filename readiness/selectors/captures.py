"""One capture for its page: read again for the plots, its findings with their next actions, its
history.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from readiness.charts.plots import Plot
from readiness.charts.stretch import read_stretch
from readiness.judgement.event_lines import EventLine, event_lines, events_of
from readiness.judgement.next_acts import ON_CAPTURE_PAGE
from readiness.judgement.opened_apart import preview_apart
from readiness.judgement.rounds import not_counted
from readiness.marks import bench_mark
from readiness.models import Capture, Verdict
from readiness.selectors.evidence import plots_of
from readiness.selectors.findings import FindingLine, line_of
from readiness.selectors.next_steps import (
    NextStep,
    act_for,
    asks_column,
    capture_step,
)
from readiness.selectors.rounds import of_earlier_rounds, round_since, word_settles
from readiness.selectors.trace_view import TraceView, trace_view
from readiness.signal.errors import CaptureRefused
from readiness.signal.readers import Preview
from rentals.limited_process import AllBusy
from rentals.marks import Mark
from rentals.store_away import StoreAway

MEASUREMENT_WORDS = {
    "noise_full_band": "Noise floor, full band",
    "noise_training_band": "Noise, training band",
    "noise_slow_band": "Slow noise, below 20 Hz",
    "mains_rms": "Mains hum",
    "mains_frequency": "Mains frequency",
    "battery_end": "Battery at the end",
    "battery_sag": "Battery sag",
    "noise_on_post": "Noise of the still part on the second post",
    "abrupt_peak": "Largest abrupt jump",
    "movement_A": "Movement of lead A, over the still part",
    "movement_B": "Movement of lead B, over the still part",
    "movement_ground": "Movement of the ground lead, over the still part",
    "slow_passed": "Slow signals the amplifier passes",
    "response_ratio": "Clenched over relaxed",
    "muscle_rest": "Muscle at rest",
    "muscle_work": "Muscle at work",
    "lift_ratio_A": "Reaction to lifting A",
    "lift_ratio_B": "Reaction to lifting B",
    "lift_ratio_ground": "Reaction to lifting ground",
    "still_part_hum": "Hum of the still part",
    "hum_uncertainty": "Uncertainty of the hum",
    "recorded_rate": "Recorded at this rate, decimated for the bench",
}


#: What somebody said of a file, among the facts that are kept with it.
ANSWERED = ("kit", "test", "rate_hz", "unit", "window_start_s", "battery_v", "moved")


@dataclass(frozen=True)
class CapturePage:
    """What the page of a capture shows. A plot is None where there is nothing to draw."""

    mark: Mark
    verdict: Verdict | None = None
    next: NextStep | None = None
    refusal: str = ""
    answers: dict[str, Any] = field(default_factory=dict)
    asks_column: bool = False
    may_set_aside: bool = False
    is_aside: bool = False
    asks_if_moved: bool = False
    findings: list[FindingLine] = field(default_factory=list)
    measurements: list[dict[str, str]] = field(default_factory=list)
    events: list[EventLine] = field(default_factory=list)
    history: list[Verdict] = field(default_factory=list)
    not_counted: str = ""
    store_away: str = ""
    trace: Plot | None = None
    trace_view: TraceView | None = None
    spectrum: Plot | None = None


def capture_page(capture: Capture, start: str = "", end: str = "") -> CapturePage:
    """Everything for the page of one capture; `start` and `end` are the seconds of its trace that
    the address asks for, as they stand there.
    """
    verdicts = list(capture.verdicts.all())
    current = next((verdict for verdict in verdicts if verdict.current), None)
    if not capture.settled:
        # It is scored again: what stands on file is an earlier verdict, and asks for nothing now.
        current = None
    page = _page_by_status(capture, current)
    if current is None:
        return replace(page, history=verdicts)
    stretch = read_stretch(start, end, current.result["duration_s"])
    try:
        trace, spectrum = plots_of(capture, current, stretch)
    except StoreAway as away:
        trace = spectrum = None
        page = replace(page, store_away=away.sentence)
    return replace(
        page,
        verdict=current,
        measurements=[_row(row) for row in current.result["measurements"]],
        events=event_lines(events_of(current.result)),
        history=[verdict for verdict in verdicts if not verdict.current],
        not_counted=(
            not_counted(
                capture,
                capture.kit,
                round_since(capture.kit),
                came_before=capture.pk in of_earlier_rounds(capture.kit, [capture]),
            )
            if capture.kit
            else ""
        ),
        trace=trace,
        trace_view=trace_view(capture, current, stretch),
        spectrum=spectrum,
    )


def _page_by_status(capture: Capture, current: Verdict | None) -> CapturePage:
    """What a page shows by the status of its capture: mark, next step, question."""
    status = Capture.Status(capture.status)
    scored = status is Capture.Status.SCORED
    refused = status in (Capture.Status.ASKING, Capture.Status.UNREADABLE)
    findings = current.result["findings"] if current else []
    lines = [line_of(capture, finding) for finding in findings]
    return CapturePage(
        mark=current.mark if scored and current else bench_mark(status),
        next=_next_step(capture, current),
        refusal=capture.refusal if refused else "",
        answers={name: capture.declared[name] for name in ANSWERED if name in capture.declared},
        asks_column=asks_column(capture),
        may_set_aside=scored and not capture.set_aside,
        asks_if_moved=scored and current is not None and word_settles(current),
        is_aside=capture.set_aside != "",
        findings=lines,
    )


def _next_step(capture: Capture, current: Verdict | None) -> NextStep | None:
    """What to do first; None where it is done on this page."""
    act = act_for(capture, current)
    return None if act.place in ON_CAPTURE_PAGE else capture_step(capture, act)


def _row(row: dict[str, Any]) -> dict[str, str]:
    """A measurement in words, its numbers to four figures."""
    words = MEASUREMENT_WORDS.get(row["name"], row["name"].replace("_", " ").capitalize())
    numbers = {key: figures(row[key]) for key in ("value", "low", "high", "limit")}
    is_ratio = row["unit"] == "ratio"
    # Most limits are not to be passed; a reaction and a battery are to reach theirs.
    if numbers["limit"] and (is_ratio or row["name"] == "battery_end"):
        numbers["limit"] = f"at least {numbers['limit']}"
    return {
        "words": words,
        "unit": "times" if is_ratio else row["unit"].replace("u", "µ"),
        **numbers,
    }


def figures(value: float | None) -> str:
    """A number to four figures, without an exponent where it can be; empty for None."""
    if value is None:
        return ""
    return f"{value:.0f}" if 1e4 <= abs(value) < 1e9 else f"{value:.4g}"


def bytes_of(capture: Capture) -> bytes | None:
    """The stored bytes, or None where the file is gone from the disk. Raises StoreAway."""
    try:
        with capture.file.open("rb") as stream:
            return stream.read()
    except StoreAway:
        raise
    except OSError:
        return None


@dataclass(frozen=True)
class FileLook:
    """A look at a file before it can be read: its preview, or why there is none."""

    preview: Preview | None
    refusal: str = ""


def preview_of(capture: Capture) -> FileLook:
    """The columns and first rows of a stored file."""
    try:
        data = bytes_of(capture)
    except StoreAway as away:
        return FileLook(None, away.sentence)
    if data is None:
        return FileLook(None, "The stored file is gone from the disk. Drop it again.")
    try:
        # The test is in the file's name, or it is asked for when the columns are known.
        return FileLook(preview_apart(capture.name, data, test_follows=True))
    except CaptureRefused as refusal:
        return FileLook(None, refusal.on_screen)
    except AllBusy as busy:
        return FileLook(None, busy.words(""))
