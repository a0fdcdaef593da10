"""A small TrueType file from outlines of any make, as PDF wants it embedded: glyph i is drawn for
code i.

Cubic curves become quadratic ones that differ by less than ``_TOLERANCE`` of an em.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import hypot
from struct import pack

from reportlab.pdfbase.ttfonts import TTFontMaker

_TOLERANCE = 0.0006
#: Largest distance between a cubic and its middle quadratic, per unit of its third difference.
_CUBIC_ERROR = 3**0.5 / 36
_ON_CURVE = 1

Point = tuple[float, float]


@dataclass
class Outline:
    """A glyph being traced, by the engine's own names of a pen's strokes."""

    em: float
    advance: float = 0.0
    contours: list[list[tuple[int, int, bool]]] = field(default_factory=list)
    _at: Point = (0.0, 0.0)

    def moveTo(self, to: Point) -> None:
        """Begin a contour."""
        self.contours.append([])
        self._add(to)

    def lineTo(self, to: Point) -> None:
        """A straight line."""
        self._add(to)

    def qCurveTo(self, control: Point, to: Point) -> None:
        """A quadratic curve."""
        self._add(control, on=False)
        self._add(to)

    def curveTo(self, first: Point, second: Point, to: Point) -> None:
        """A cubic curve, in as many quadratic ones as it takes."""
        start = self._at
        third = [to[i] - 3 * second[i] + 3 * first[i] - start[i] for i in (0, 1)]
        error = hypot(*third) * _CUBIC_ERROR
        pieces = max(1, round((error / (_TOLERANCE * self.em)) ** (1 / 3) + 0.5))
        for n in range(pieces):
            self._quadratic((start, first, second, to), n / pieces, (n + 1) / pieces)

    def closePath(self) -> None:
        """End a contour: the last point meets the first by itself."""
        contour = self.contours[-1]
        if len(contour) > 1 and contour[0] == contour[-1]:
            contour.pop()
        if len(contour) < 3:
            self.contours.pop()

    def _quadratic(self, cubic: tuple[Point, Point, Point, Point], a: float, b: float) -> None:
        """The stretch from ``a`` to ``b`` of a cubic, its control point where the ends' tangents
        ask for it on average.
        """
        start, to = _on_cubic(cubic, a), _on_cubic(cubic, b)
        out, into = _slope(cubic, a), _slope(cubic, b)
        step = (b - a) / 2
        control = [(start[i] + out[i] * step + to[i] - into[i] * step) / 2 for i in (0, 1)]
        self._add((control[0], control[1]), on=False)
        self._add(to)

    def _add(self, point: Point, *, on: bool = True) -> None:
        self._at = point if on else self._at
        self.contours[-1].append((round(point[0]), round(point[1]), on))

    @property
    def box(self) -> tuple[int, int, int, int]:
        """Left, bottom, right and top of all points."""
        points = [point for contour in self.contours for point in contour]
        if not points:
            return 0, 0, 0, 0
        across, up = [p[0] for p in points], [p[1] for p in points]
        return min(across), min(up), max(across), max(up)


def truetype_file(outlines: Sequence[Outline], em: int, ascent: int, descent: int) -> bytes:
    """The file with these glyphs; ``ascent`` and ``descent`` in units of the em."""
    glyphs = [_glyph(outline) for outline in outlines]
    offsets = [0]
    for glyph in glyphs:
        offsets.append(offsets[-1] + len(glyph))
    boxes = [outline.box for outline in outlines]
    box = tuple(
        pick(edge)
        for pick, edge in zip((min, min, max, max), zip(*boxes, strict=True), strict=True)
    )
    count = len(outlines)
    maker = TTFontMaker()
    maker.add("head", _head(em, box))
    maker.add("hhea", _hhea(outlines, ascent, descent))
    maker.add("maxp", _maxp(outlines))
    maker.add(
        "hmtx",
        b"".join(
            pack(">Hh", round(o.advance), edges[0])
            for o, edges in zip(outlines, boxes, strict=True)
        ),
    )
    maker.add(
        "cmap",
        pack(f">HHHHLHHHHH{count}H", 0, 1, 1, 0, 12, 6, 10 + 2 * count, 0, 0, count, *range(count)),
    )
    maker.add("glyf", b"".join(glyphs))
    maker.add("loca", pack(f">{count + 1}L", *offsets))
    maker.add("post", pack(">LLhhLLLLL", 0x00030000, 0, 0, 0, 0, 0, 0, 0, 0))
    return maker.makeStream()


def _on_cubic(cubic: tuple[Point, Point, Point, Point], t: float) -> Point:
    a, b, c, d = cubic
    s = 1 - t
    x, y = (s**3 * a[i] + 3 * s * s * t * b[i] + 3 * s * t * t * c[i] + t**3 * d[i] for i in (0, 1))
    return x, y


def _slope(cubic: tuple[Point, Point, Point, Point], t: float) -> Point:
    a, b, c, d = cubic
    s = 1 - t
    x, y = (
        3 * s * s * (b[i] - a[i]) + 6 * s * t * (c[i] - b[i]) + 3 * t * t * (d[i] - c[i])
        for i in (0, 1)
    )
    return x, y


def _glyph(outline: Outline) -> bytes:
    """One glyph: ends of contours, no instructions, a flag and two steps for each point."""
    points = [point for contour in outline.contours for point in contour]
    if not points:
        return b""
    ends, total = [], 0
    for contour in outline.contours:
        total += len(contour)
        ends.append(total - 1)
    before = [(0, 0, True), *points]
    steps = [[now[i] - last[i] for last, now in zip(before, points, strict=False)] for i in (0, 1)]
    flags = bytes(_ON_CURVE if on else 0 for _, _, on in points)
    data = pack(f">h4h{len(ends)}HH", len(ends), *outline.box, *ends, 0) + flags
    data += pack(f">{total}h{total}h", *steps[0], *steps[1])
    return data + b"\0" * (-len(data) % 4)


def _head(em: int, box: tuple[int, ...]) -> bytes:
    version, magic, long_offsets = 0x00010000, 0x5F0F3CF5, 1
    return pack(
        ">LLLLHHQQ4hHHhhh", version, version, 0, magic, 3, em, 0, 0, *box, 0, 8, 2, long_offsets, 0
    )


def _hhea(outlines: Sequence[Outline], ascent: int, descent: int) -> bytes:
    widest = max(round(outline.advance) for outline in outlines)
    return pack(
        ">LhhhHhhhhhh8xhH",
        0x00010000,
        ascent,
        descent,
        0,
        widest,
        0,
        0,
        0,
        1,
        0,
        0,
        0,
        len(outlines),
    )


def _maxp(outlines: Sequence[Outline]) -> bytes:
    points = max(sum(map(len, outline.contours)) for outline in outlines)
    contours = max(len(outline.contours) for outline in outlines)
    return pack(
        ">LHHHHHHHHHHHHHH", 0x00010000, len(outlines), points, contours, *([0, 0, 2] + [0] * 8)
    )
