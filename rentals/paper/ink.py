"""Drawing on a page in millimetres from its top left corner, type in points; remembers what could
not be printed.
"""

from collections.abc import Sequence
from datetime import datetime
from io import BytesIO
from typing import Any, Self

from reportlab import rl_config
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from rentals.catalogues import gettext
from rentals.codes import grouped

from .coverage import with_code_points
from .document_info import MadeAt, language_of_words
from .facts import PracticeFacts, Printed
from .fonts import FontChooser, Run, code_font, fonts_at_hand
from .tagging import TaggedPages

#: Pages as plain compressed bytes: text armour would make each file a quarter larger and slower
#: to write.
rl_config.useA85 = False

PAPER = {"A4": A4, "Letter": LETTER}
BLACK = 0.0
GREY = 0.38
HAIR = 0.72
#: Emphasis is the outline drawn along with the filled letter: the variable fonts load in their
#: regular weight only.
_BOLD_STROKE_EM = 0.03


class Ink(TaggedPages):
    """One PDF being drawn. The same calls give the same bytes (no clock, no random name).

    Text belongs to the logical structure, in the order in which it is drawn; everything else, and
    text drawn ``aside``, is an artifact.
    """

    @classmethod
    def for_paper(
        cls,
        practice: PracticeFacts,
        title: str,
        subject: str,
        paper: str | None = None,
        fonts: FontChooser | None = None,
    ) -> Self:
        """A paper of a practice, on the paper asked for or on the practice's own."""
        return cls(
            title,
            paper or practice.paper,
            fonts,
            author=practice.name,
            subject=subject,
            made_at=practice.printed_at,
        )

    def __init__(
        self,
        title: str,
        paper: str | tuple[float, float] = "A4",
        fonts: FontChooser | None = None,
        author: str = "",
        subject: str = "",
        made_at: datetime | None = None,
    ) -> None:
        """``paper`` is ``A4``, ``Letter`` or width and height in millimetres."""
        size = PAPER[paper] if isinstance(paper, str) else (paper[0] * mm, paper[1] * mm)
        self._bytes = BytesIO()
        self.fonts = fonts or fonts_at_hand()
        canvas = Canvas(
            self._bytes,
            pagesize=size,
            invariant=1,
            pageCompression=1,
            pdfVersion=(1, 7),
            initialFontName=self.fonts.regular,  # Else each page names a font it does not carry.
            lang=language_of_words(),
        )
        canvas._doc.info = MadeAt(title, author or "Kitdesk", subject, made_at)
        canvas.setViewerPreference("DisplayDocTitle", "true")
        super().__init__(canvas)
        self.width_mm, self.height_mm = size[0] / mm, size[1] / mm
        self._height = size[1]
        self._unprintable: dict[str, None] = {}
        self._borrowed: dict[str, None] = {}
        #: ISO 3166-1 country whose shapes Han characters get that do not tell their language.
        self.country = ""

    # Text
    # ----------------------------------------------------------------------------------------------

    def text_width(self, text: str, size: float) -> float:
        """Width in millimetres."""
        return self.fonts.width(text, size) / mm

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float = 9,
        *,
        bold: bool = False,
        grey: float = BLACK,
        align: str = "l",
    ) -> float:
        """Draw one line with its baseline at ``y``; ``align`` is l, c or r about ``x``. Returns its
        width in mm.
        """
        runs = self.fonts.runs(text, self.country)
        width = sum(self.fonts.run_width(run, size) for run in runs)
        left = x * mm - {"l": 0.0, "c": width / 2, "r": width}[align]
        for run in runs:
            if not run.font:
                self._unprintable[with_code_points(text, run)] = None
            elif run.borrowed:
                self._borrowed[text] = None
        if runs:
            with self.marked():
                self._draw_runs(runs, left, self._height - y * mm, size, bold, grey)
        return width / mm

    def fitted(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        room: float,
        *,
        smallest: float = 6,
        **look: Any,
    ) -> float:
        """Draw one line in at most ``room`` millimetres: smaller type first, then cut with an
        ellipsis.
        """
        width = self.text_width(text, size)
        if width > room:
            size = max(smallest, size * room / width)
        if self.text_width(text, size) > room + 0.01:
            text = self._cut(text, size, room)
        return self.text(x, y, text, size, **look)

    def wrapped(self, text: str, size: float, room: float) -> list[str]:
        """The text in lines no wider than ``room`` millimetres; its own line breaks are kept."""
        return list(self.fonts.wrapped(text, size, room * mm))

    def paragraph(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        room: float,
        *,
        leading: float = 1.32,
        **look: Any,
    ) -> float:
        """Draw wrapped text, first baseline at ``y``; returns the baseline after the last line."""
        for line in self.wrapped(text, size, room):
            self.text(x, y, line, size, **look)
            y += size * leading / mm
        return y

    def code(self, x: float, y: float, code: str, size: float, *, align: str = "l") -> float:
        """A kit, part or lead code: fixed width, grouped, check character underlined, zeros struck
        through.
        """
        grouped_code = grouped(code)
        step = 0.6 * size
        width = step * len(grouped_code)
        left = x * mm - {"l": 0.0, "c": width / 2, "r": width}[align]
        base = self._height - y * mm
        self.canvas.setFillGray(BLACK)
        self.canvas.setStrokeGray(BLACK)
        with self.marked():
            self.canvas.setFont(code_font(), size)
            self.canvas.setLineWidth(size * _BOLD_STROKE_EM)
            self.canvas.drawString(left, base, grouped_code, mode=2)
        self.canvas.setLineWidth(size * 0.055)
        self.canvas.line(
            left + width - step * 0.95,
            base - size * 0.16,
            left + width - step * 0.05,
            base - size * 0.16,
        )
        return width / mm

    def font_notes(self, x: float, y: float) -> None:
        """Say on the page what could not be printed so far, or depends on the reader's program;
        else nothing.
        """
        notes = []
        if self._unprintable:
            notes.append(
                gettext("A crossed box stands for a character that no font at this desk has.")
            )
        if self._borrowed:
            notes.append(
                gettext(
                    "Some names need a Chinese, Japanese or Korean typeface on the device that"
                    " shows this page."
                )
            )
        self.text(x, y, " ".join(notes), 5.5)

    # Lines and shapes
    # ----------------------------------------------------------------------------------------------

    def rule(
        self, x: float, y: float, length: float, *, weight: float = 0.4, grey: float = BLACK
    ) -> None:
        """A horizontal line; ``weight`` in points."""
        self.line(x, y, x + length, y, weight=weight, grey=grey)

    def line(
        self,
        x1: float,
        y1: float,
        x2: float,
        y2: float,
        *,
        weight: float = 0.4,
        grey: float = BLACK,
        dash: Sequence[float] = (),
    ) -> None:
        """A straight line; ``dash`` in points."""
        self.canvas.setStrokeGray(grey)
        self.canvas.setLineWidth(weight)
        self.canvas.setDash(list(dash))
        self.canvas.line(x1 * mm, self._height - y1 * mm, x2 * mm, self._height - y2 * mm)

    def box(
        self,
        x: float,
        y: float,
        width: float,
        height: float,
        *,
        weight: float = 0.6,
        grey: float = BLACK,
        dash: Sequence[float] = (),
        fill: float | None = None,
        radius: float = 0,
    ) -> None:
        """An outlined rectangle with its top left corner at ``x``, ``y``; ``fill`` is a grey level
        or nothing.
        """
        self.canvas.setStrokeGray(grey)
        self.canvas.setLineWidth(weight)
        self.canvas.setDash(list(dash))
        if fill is not None:
            self.canvas.setFillGray(fill)
        place = (x * mm, self._height - (y + height) * mm, width * mm, height * mm)
        self.canvas.roundRect(
            *place, radius * mm, stroke=int(weight > 0), fill=int(fill is not None)
        )

    def printed(self) -> Printed:
        """Finish the document."""
        self.finish()
        return Printed(
            self._bytes.getvalue(), tuple(self._unprintable), tuple(self._borrowed), self.pages
        )

    # Inside
    # ----------------------------------------------------------------------------------------------

    def _draw_runs(
        self, runs: Sequence[Run], left: float, base: float, size: float, bold: bool, grey: float
    ) -> None:
        self.canvas.setFillGray(grey)
        for run in runs:
            self._draw_run(run, left, base, size, bold, grey)
            left += self.fonts.run_width(run, size)

    def _draw_run(
        self, run: Run, left: float, base: float, size: float, bold: bool, grey: float
    ) -> None:
        if not run.font:
            self._draw_missing(len(run.text), left, base, size)
            return
        self.canvas.setFont(run.font, size)
        if not bold:
            self.canvas.drawString(left, base, run.drawn)
            return
        self.canvas.setStrokeGray(grey)
        self.canvas.setLineWidth(size * _BOLD_STROKE_EM)
        self.canvas.drawString(left, base, run.drawn, mode=2)

    def _draw_missing(self, count: int, left: float, base: float, size: float) -> None:
        """Crossed boxes in place of characters that no font has."""
        self.canvas.setStrokeGray(BLACK)
        self.canvas.setLineWidth(size * 0.05)
        self.canvas.setDash([])
        for i in range(count):
            x, width, height = left + (i * 0.6 + 0.05) * size, 0.5 * size, 0.7 * size
            self.canvas.rect(x, base, width, height)
            self.canvas.line(x, base, x + width, base + height)
            self.canvas.line(x, base + height, x + width, base)

    def _cut(self, text: str, size: float, room: float) -> str:
        low, high = 0, len(text)
        while low < high:
            middle = (low + high + 1) // 2
            low, high = (
                (middle, high)
                if self.text_width(text[:middle] + "…", size) <= room
                else (low, middle - 1)
            )
        return text[:low].rstrip() + "…"
