"""Where each text of a finished PDF stands, read back from the file: what covers what, and what
leaves its place.
"""

import ctypes
from dataclasses import dataclass

import pypdfium2
from pypdfium2 import raw

from rentals.paper.sheets import SheetLayout

_MM = 25.4 / 72


@dataclass(frozen=True)
class DrawnText:
    """One text as it was drawn, its ink in millimetres from the page's top left corner; ``size`` in
    points.
    """

    text: str
    left: float
    top: float
    right: float
    bottom: float
    baseline: float
    size: float


def drawn_texts(pdf: bytes) -> list[list[DrawnText]]:
    """The texts of each page that leave ink on it."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return [_texts_of(page) for page in document]
    finally:
        document.close()


def covered(texts: list[DrawnText], slack: float = 0.15) -> list[tuple[str, str]]:
    """Pairs of texts whose ink meets by more than ``slack`` millimetres both ways."""
    found = []
    in_order = sorted(texts, key=lambda text: text.top)
    for i, text in enumerate(in_order):
        for other in in_order[i + 1 :]:
            if other.top > text.bottom:
                break
            across = min(text.right, other.right) - max(text.left, other.left)
            down = min(text.bottom, other.bottom) - max(text.top, other.top)
            if across > slack and down > slack:
                found.append((text.text, other.text))
    return found


def outside(
    texts: list[DrawnText], place: tuple[float, float, float, float], slack: float = 0.1
) -> list[str]:
    """Texts whose ink leaves a place (left, top, right, bottom)."""
    left, top, right, bottom = place
    return [
        text.text
        for text in texts
        if text.left < left - slack
        or text.right > right + slack
        or text.top < top - slack
        or text.bottom > bottom + slack
    ]


def trouble_on_page(texts: list[DrawnText], page: tuple[float, float], margin: float = 5) -> list:
    """Texts that cover each other, and those nearer than ``margin`` to the edge of the page."""
    width, height = page
    room = (margin, margin, width - margin, height - margin)
    return [*covered(texts), *outside(texts, room)]


def trouble_on_sheet(pdf: bytes, sheet: SheetLayout) -> list:
    """Texts that cover each other, and those that do not stand inside one label."""
    found: list = []
    for texts in drawn_texts(pdf):
        found += covered(texts)
        for text in texts:
            labels = (sheet.place(i) for i in range(sheet.count))
            inside = [
                place
                for place in ((x, y, x + sheet.label[0], y + sheet.label[1]) for x, y in labels)
                if not outside([text], place)
            ]
            if len(inside) != 1:
                found.append(text.text)
    return found


def _texts_of(page: pypdfium2.PdfPage) -> list[DrawnText]:
    height = page.get_height()
    textpage = page.get_textpage()
    texts = []
    for item in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
        left, bottom, right, top = item.get_bounds()
        if right - left < 0.01:
            continue
        size = ctypes.c_float()
        raw.FPDFTextObj_GetFontSize(item, size)
        text = DrawnText(
            _words(item, textpage),
            left * _MM,
            (height - top) * _MM,
            right * _MM,
            (height - bottom) * _MM,
            (height - item.get_matrix().f) * _MM,
            round(size.value, 3),
        )
        if texts and _go_on(texts[-1], text):
            text = _joined(texts.pop(), text)
        texts.append(text)
    return texts


def _go_on(before: DrawnText, text: DrawnText) -> bool:
    """Whether a piece carries on the one before it: a mark on its letter, or what follows a mark,
    is drawn apart because it stands higher or lower.
    """
    em = before.size * _MM
    is_near = before.left - em < text.left < before.right + 0.4 * em
    return before.size == text.size and 0 < abs(text.baseline - before.baseline) < em and is_near


def _joined(before: DrawnText, text: DrawnText) -> DrawnText:
    return DrawnText(
        before.text + text.text,
        min(before.left, text.left),
        min(before.top, text.top),
        max(before.right, text.right),
        max(before.bottom, text.bottom),
        text.baseline,
        text.size,
    )


def _words(item: pypdfium2.PdfObject, textpage: pypdfium2.PdfTextPage) -> str:
    length = raw.FPDFTextObj_GetText(item, textpage, None, 0)
    buffer = ctypes.create_string_buffer(length)
    raw.FPDFTextObj_GetText(
        item, textpage, ctypes.cast(buffer, ctypes.POINTER(ctypes.c_ushort)), length
    )
    return buffer.raw[: length - 2].decode("utf-16-le")
