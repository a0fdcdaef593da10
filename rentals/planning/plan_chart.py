"""The plan as a drawing: kits against weeks, runs above. Pure.

SVG text without a style attribute (a strict content security policy forbids it): colour and weight
come from the stylesheet by classes that begin with ``plan-``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from html import escape

from rentals.dates import short_date

from .kit_plan import Clash, Hold, KitPlan, Stay
from .plan_window import PlanWindow

WIDTH, LEFT, RIGHT = 1120, 104, 150
HEAD, ROW, BAR, FOOT = 26, 24, 14, 8
LETTER = 6.4
"""Width of a letter on average, by which a name is fitted into its bar."""
_CODE_GROUP = 3

_SHAPES = {
    "overdue": "M7 0A7 7 0 1 0 7 14A7 7 0 1 0 7 0ZM6 3H8V7L11 9L10 10.6L6 8Z",
    "post late": "M0 4.5H7V1L14 7L7 13V9.5H0Z",
    "overlap": "M7 0L14 13H0ZM6 4.5V9H8V4.5ZM6 10.2V12H8V10.2Z",
}
_BAR_CLASS = {
    Hold.SET_ASIDE: "plan-aside",
    Hold.AGREED: "plan-agreed",
    Hold.AWAY: "plan-away",
    Hold.BACK: "plan-over",
    Hold.OVER: "plan-over",
}


@dataclass(frozen=True)
class RunBar:
    """A run in the band above: from the day its parcels are posted to the day kits are due back."""

    name: str
    address: str
    start: date
    end: date


@dataclass(frozen=True)
class DrawnKit:
    """A kit's row: its plan, its code in groups, and the address of its page."""

    plan: KitPlan
    code: str
    address: str


def plan_chart(
    window: PlanWindow, runs: Sequence[RunBar], kits: Sequence[DrawnKit], today: date
) -> str:
    """The drawing as one SVG element; every bar, run and code is a link."""
    rows = len(runs) + len(kits)
    height = HEAD + rows * ROW + FOOT
    sheet = _Sheet(window, height)
    parts = [_weeks(sheet), _today(sheet, today)]
    parts += [_run_row(sheet, run, place) for place, run in enumerate(runs)]
    if runs and kits:
        y = sheet.top(len(runs))
        parts.append(f'<path class="plan-edge" d="M0 {y}H{WIDTH}"/>')
    parts += [_kit_row(sheet, kit, len(runs) + place) for place, kit in enumerate(kits)]
    words = f"Kits against the weeks from {short_date(window.start)} to {short_date(window.end)}."
    return (
        f'<svg class="plan" viewBox="0 0 {WIDTH} {height}" role="group"'
        f' aria-labelledby="plan-title"><title id="plan-title">{words}</title>'
        f"{_HATCH}{''.join(parts)}</svg>"
    )


_HATCH = (
    '<defs><pattern id="plan-hatch" width="5" height="5" patternUnits="userSpaceOnUse"'
    ' patternTransform="rotate(45)"><path class="plan-hatch" d="M0 0V5"/></pattern></defs>'
)


@dataclass(frozen=True)
class _Sheet:
    window: PlanWindow
    height: int

    def x(self, day: date) -> float:
        """Where a day begins, kept inside the weeks."""
        share = (day - self.window.start).days / (7 * self.window.weeks)
        return LEFT + min(max(share, 0.0), 1.0) * (WIDTH - LEFT - RIGHT)

    @staticmethod
    def top(row: int) -> int:
        return HEAD + row * ROW


def _weeks(sheet: _Sheet) -> str:
    """A line at each Monday; its day is written where there is room."""
    every = 1 if sheet.window.weeks <= 14 else 2
    parts = []
    for place, monday in enumerate(sheet.window.mondays):
        x = sheet.x(monday)
        parts.append(f'<path class="plan-week" d="M{x:.1f} {HEAD - 6}V{sheet.height}"/>')
        if place % every == 0:
            day = f"{monday.day} {short_date(monday).split()[1]}"
            parts.append(f'<text class="plan-day" x="{x + 3:.1f}" y="{HEAD - 10}">{day}</text>')
    return "".join(parts)


def _today(sheet: _Sheet, today: date) -> str:
    if not sheet.window.start <= today < sheet.window.end:
        return ""
    x = sheet.x(today)
    return f'<path class="plan-today" d="M{x:.1f} {HEAD - 6}V{sheet.height}"/>'


def _run_row(sheet: _Sheet, run: RunBar, row: int) -> str:
    top = sheet.top(row)
    start, end = sheet.x(run.start), sheet.x(run.end)
    span = f"{run.name}, {short_date(run.start)} to {short_date(run.end)}"
    bar = _bar("plan-run", start, end, top)
    name = _named(run.name, start, max(end, WIDTH - RIGHT), top, "plan-run-name")
    return _link(run.address, span, bar + name)


def _kit_row(sheet: _Sheet, kit: DrawnKit, row: int) -> str:
    top = sheet.top(row)
    middle = top + ROW - 8
    code = f'<text class="plan-code" x="2" y="{middle}">{escape(kit.code)}</text>'
    parts = [f'<path class="plan-row" d="M0 {top + ROW}H{WIDTH}"/>']
    parts.append(_link(kit.address, f"Kit {kit.code}", code))
    parts += [_stay(sheet, stay, top) for stay in kit.plan.stays]
    parts += [_clash(sheet, clash, top) for clash in kit.plan.clashes]
    if kit.plan.clashes:
        first = kit.plan.clashes[0]
        parts.append(_shape(first, WIDTH - RIGHT + 8, top + 5))
        words = escape(first.short)
        x = WIDTH - RIGHT + 28
        parts.append(f'<text class="plan-clash-words" x="{x}" y="{middle}">{words}</text>')
    return "".join(parts)


def _stay(sheet: _Sheet, stay: Stay, top: int) -> str:
    """Bar and turnaround of one lending; nothing where it lies outside the weeks."""
    if not sheet.window.meets(stay.start, stay.end):
        return ""
    lending = stay.lending
    start, back, free = (sheet.x(day) for day in (stay.start, stay.back, stay.free.day))
    words = (
        f"{lending.who}, {lending.hold}: {short_date(stay.start)} to {short_date(stay.back)}, free"
        f" again {short_date(stay.free.day)}"
    )
    parts = _bar(_BAR_CLASS[lending.hold], start, back, top) if back > start else ""
    if free > back:
        parts += _bar("plan-turn", back, free, top)
    return _link(lending.address, words, parts + _named(lending.who, start, back, top, "plan-who"))


def _clash(sheet: _Sheet, clash: Clash, top: int) -> str:
    if not sheet.window.start <= clash.day < sheet.window.end:
        return ""
    return _shape(clash, sheet.x(clash.day) - 7, top + 5)


def _shape(clash: Clash, x: float, y: float) -> str:
    shape = _SHAPES[clash.kind]
    words = escape(clash.words)
    return (
        f'<path class="plan-clash" transform="translate({x:.1f} {y:.1f})" d="{shape}">'
        f"<title>{words}</title></path>"
    )


def _bar(kind: str, start: float, end: float, top: int) -> str:
    width = max(end - start, 1.5)
    y = top + (ROW - BAR) / 2
    return f'<rect class="{kind}" x="{start:.1f}" y="{y:.0f}" width="{width:.1f}" height="{BAR}"/>'


def _named(name: str, start: float, end: float, top: int, kind: str) -> str:
    """As much of a name as its bar holds; nothing where that says too little."""
    room = int((end - start - 8) / LETTER)
    if room < 4:
        return ""
    shown = name if len(name) <= room else name[: room - 1].rstrip() + "…"
    return f'<text class="{kind}" x="{start + 4:.1f}" y="{top + ROW - 8}">{escape(shown)}</text>'


def _link(address: str, words: str, inside: str) -> str:
    where, said = escape(address, quote=True), escape(words, quote=True)
    return f'<a href="{where}" aria-label="{said}"><title>{escape(words)}</title>{inside}</a>'
