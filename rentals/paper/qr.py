"""QR codes as vectors: one path of rectangles per code, sized by how far away it is scanned.

Level M, the smallest version that holds the text (ISO/IEC 18004). Dark modules that touch in a row
are one rectangle; the path is kept in whole modules and scaled by the page's matrix, so it is built
once per text.
"""

from functools import lru_cache

import qrcode
from qrcode.constants import ERROR_CORRECT_M
from reportlab.lib.units import mm

from .ink import Ink

QUIET_MODULES = 4
#: Four dots of a 300 dpi printer: below that a module prints unevenly (guide of the code's
#: inventor).
SMALLEST_MODULE_MM = 4 * 25.4 / 300


def matrix(text: str) -> list[list[bool]]:
    """The modules, row by row from the top, dark ones true, without quiet zone: 17 + 4 v on a
    side.
    """
    code = qrcode.QRCode(error_correction=ERROR_CORRECT_M, border=0)
    code.add_data(text)
    code.make(fit=True)
    return code.get_matrix()


def module_mm(modules: int, room_mm: float, distance_mm: float) -> float:
    """Side of one module in millimetres.

    Rule of thumb of the trade (not in the standard): the code is a tenth of the scanning distance
    wide, quiet zone not counted; never finer than ``SMALLEST_MODULE_MM`` and never beyond the room,
    four quiet modules on each side included. Raises ValueError where even the finest module does
    not fit.
    """
    most = room_mm / (modules + 2 * QUIET_MODULES)
    if most < SMALLEST_MODULE_MM:
        need = SMALLEST_MODULE_MM * (modules + 2 * QUIET_MODULES)
        raise ValueError(f"the QR code needs {need:.1f} mm of room, there are {room_mm:.1f} mm")
    return min(max(distance_mm / 10 / modules, SMALLEST_MODULE_MM), most)


def forget() -> None:
    """Drop the codes kept from earlier calls, as for measuring how long fresh ones take."""
    _path.cache_clear()


def draw_qr(
    ink: Ink, x: float, y: float, text: str, room_mm: float, distance_mm: float = 250
) -> float:
    """Draw the code centred in a square of ``room_mm`` whose top left corner is ``x``, ``y``.

    Returns the side of one module in millimetres; raises ValueError where it does not fit (see
    ``module_mm``).
    """
    modules, path = _path(text)
    module = module_mm(modules, room_mm, distance_mm)
    inset = (room_mm - module * modules) / 2
    canvas = ink.canvas
    with ink.figure(f"QR code: {text}"):
        canvas.saveState()
        canvas.setFillGray(0)
        canvas.transform(
            module * mm, 0, 0, module * mm, (x + inset) * mm, (ink.height_mm - y - inset) * mm
        )
        canvas.addLiteral(path)
        canvas.restoreState()
    return module


@lru_cache(maxsize=256)
def _path(text: str) -> tuple[int, str]:
    """Modules on a side, and the whole code as one PDF path (ISO 32000 operators re and f), a
    module being 1.
    """
    rows = matrix(text)
    drawn = [
        f"{start} {-y - 1} {end - start} 1 re"
        for y, row in enumerate(rows)
        for start, end in bars(row)
    ]
    return len(rows), " ".join((*drawn, "f"))


def bars(row: list[bool]) -> list[tuple[int, int]]:
    """Runs of dark modules in one row as (start, end)."""
    bars: list[tuple[int, int]] = []
    for i, dark in enumerate(row):
        if dark and bars and bars[-1][1] == i:
            bars[-1] = (bars[-1][0], i + 1)
        elif dark:
            bars.append((i, i + 1))
    return bars
