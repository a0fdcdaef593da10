"""Small marks on paper: tick boxes, the two marks that tell a returned piece from a used one, part
drawings.
"""

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from .drawings import DRAWINGS, STROKE, commands, paths_of
from .ink import BLACK, GREY, Ink


def tick_box(ink: Ink, x: float, y: float, side: float = 4.0) -> None:
    """An empty square to tick, top left corner at ``x``, ``y``."""
    ink.box(x, y, side, side, weight=0.7)


def comes_back_mark(ink: Ink, x: float, y: float, side: float = 3.6) -> None:
    """A solid arrow that turns back: this piece is expected in the return parcel."""
    middle, low = y + side * 0.3, y + side * 0.85
    ink.line(x + side * 0.25, middle, x + side * 0.7, middle, weight=0.9)
    canvas, top = ink.canvas, ink.height_mm
    bend = canvas.beginPath()
    bend.moveTo((x + side * 0.7) * mm, (top - middle) * mm)
    bend.curveTo(
        (x + side * 1.08) * mm,
        (top - middle) * mm,
        (x + side * 1.08) * mm,
        (top - low) * mm,
        (x + side * 0.7) * mm,
        (top - low) * mm,
    )
    canvas.drawPath(bend)
    ink.line(x + side * 0.7, low, x + side * 0.1, low, weight=0.9)
    head = canvas.beginPath()
    head.moveTo(x * mm, (top - middle) * mm)
    head.lineTo((x + side * 0.42) * mm, (top - middle + side * 0.26) * mm)
    head.lineTo((x + side * 0.42) * mm, (top - middle - side * 0.26) * mm)
    head.close()
    canvas.setFillGray(BLACK)
    canvas.drawPath(head, stroke=0, fill=1)


def used_up_mark(ink: Ink, x: float, y: float, side: float = 3.6) -> None:
    """A broken ring: this piece is used and not sent back."""
    ink.canvas.setStrokeGray(BLACK)
    ink.canvas.setLineWidth(0.9)
    ink.canvas.setDash([1.1, 1.3])
    ink.canvas.circle((x + side / 2) * mm, (ink.height_mm - y - side / 2) * mm, side * 0.42 * mm)
    ink.canvas.setDash([])


def part_drawing(ink: Ink, x: float, y: float, kind: str, side: float) -> None:
    """The line drawing of a part kind in a square of ``side`` millimetres, top left corner at
    ``x``, ``y``.
    """
    canvas = ink.canvas
    name = f"part-{kind if kind in DRAWINGS else 'other'}"
    if not canvas.hasForm(name):
        _define(canvas, name, kind)
    canvas.saveState()
    canvas.translate(x * mm, (ink.height_mm - y) * mm)
    canvas.scale(side * mm / 100, -side * mm / 100)
    canvas.doForm(name)
    canvas.restoreState()


def _define(canvas: Canvas, name: str, kind: str) -> None:
    """Put a drawing into the document once; pages refer to it."""
    canvas.beginForm(name, -2, -2, 102, 102)
    canvas.setStrokeGray(GREY - 0.13)
    canvas.setLineWidth(STROKE + 1)
    canvas.setLineCap(1)
    canvas.setLineJoin(1)
    drawn = canvas.beginPath()
    steps = {"M": drawn.moveTo, "L": drawn.lineTo, "C": drawn.curveTo, "Z": drawn.close}
    for path in paths_of(kind):
        for command, numbers in commands(path):
            steps[command](*numbers)
    canvas.drawPath(drawn)
    canvas.endForm()
