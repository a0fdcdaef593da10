"""Line drawings of the kinds of parts, for screens and for paper alike: plain path data, no Django,
no PDF library.

Each drawing is a list of paths in a box of 100 x 100, x to the right and y DOWN (as in SVG; a PDF
flips it). A path uses absolute M, L, C and Z only. All are strokes of one width (`STROKE`, in the
same units), round caps and joins, never filled. The shapes are invented: they tell a part from its
neighbours and resemble no product.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

STROKE = 3.0

_K = 0.5523  # Bezier handle length of a quarter circle, as a share of its radius


def _circle(x: float, y: float, r: float) -> str:
    k = r * _K
    return (
        f"M{x - r:g} {y:g}C{x - r:g} {y - k:g} {x - k:g} {y - r:g} {x:g} {y - r:g}"
        f"C{x + k:g} {y - r:g} {x + r:g} {y - k:g} {x + r:g} {y:g}"
        f"C{x + r:g} {y + k:g} {x + k:g} {y + r:g} {x:g} {y + r:g}"
        f"C{x - k:g} {y + r:g} {x - r:g} {y + k:g} {x - r:g} {y:g}Z"
    )


def _box(x: float, y: float, width: float, height: float, r: float = 0) -> str:
    right, low = x + width, y + height
    if not r:
        return f"M{x:g} {y:g}L{right:g} {y:g}L{right:g} {low:g}L{x:g} {low:g}Z"
    k = r * (1 - _K)
    return (
        f"M{x + r:g} {y:g}L{right - r:g} {y:g}C{right - k:g} {y:g} {right:g} {y + k:g} {right:g}"
        f" {y + r:g}L{right:g} {low - r:g}C{right:g} {low - k:g} {right - k:g} {low:g}"
        f" {right - r:g} {low:g}L{x + r:g} {low:g}C{x + k:g} {low:g} {x:g} {low - k:g} {x:g}"
        f" {low - r:g}L{x:g} {y + r:g}C{x:g} {y + k:g} {x + k:g} {y:g} {x + r:g} {y:g}Z"
    )


DRAWINGS: dict[str, tuple[str, ...]] = {
    # A flat case, two sockets and a third apart on top, a short trace on its face.
    "amplifier": (
        _box(16, 34, 68, 52, 8),
        "M28 34L28 22L38 22L38 34",
        "M44 34L44 22L54 22L54 34",
        "M64 34L64 26L72 26L72 34",
        "M27 62L38 62L43 50L49 74L55 56L59 62L73 62",
    ),
    # A stick with a cap line, and a keyhole.
    "licence_key": (
        _box(30, 34, 40, 54, 6),
        _box(38, 12, 24, 22),
        "M46 20L46 25M54 20L54 25",
        _circle(50, 54, 6),
        "M50 60L50 74",
    ),
    # Three leads leaving one plug, each with its end.
    "lead_set": (
        _box(34, 8, 32, 16, 4),
        "M42 24C42 46 18 44 18 72",
        "M50 24L50 72",
        "M58 24C58 46 82 44 82 72",
        _circle(18, 81, 9),
        _circle(50, 81, 9),
        "M74 72L90 72L82 88Z",
    ),
    # One lead: plug, one loose bend, end.
    "lead": (
        _box(10, 14, 22, 14, 4),
        "M32 21C84 21 84 52 50 52C22 52 20 76 62 78",
        _circle(74, 78, 12),
        _circle(74, 78, 4),
    ),
    # Two cells side by side in a holder, one each way round.
    "battery_pack": (
        _box(10, 22, 80, 60, 6),
        _box(20, 32, 58, 16, 3),
        "M78 37L83 37L83 43L78 43",
        _box(24, 57, 58, 16, 3),
        "M24 62L19 62L19 68L24 68",
        "M66 40L72 40M69 37L69 43",
        "M30 65L36 65",
    ),
    # A block with a cord to a plug of no particular country, and a bolt.
    "charger": (
        _box(12, 40, 46, 46, 6),
        "M38 48L28 66L36 66L31 79L45 60L37 60Z",
        "M58 63C76 63 78 54 78 38",
        _box(68, 18, 20, 20, 3),
        "M73 18L73 8M83 18L83 8",
    ),
    # A sheet of four pads with their studs.
    "electrodes": (
        _box(14, 12, 72, 76, 4),
        _circle(33, 33, 13),
        _circle(67, 33, 13),
        _circle(33, 67, 13),
        _circle(67, 67, 13),
        _circle(33, 33, 3),
        _circle(67, 33, 3),
        _circle(33, 67, 3),
        _circle(67, 67, 3),
    ),
    # A sealed sachet with a drop.
    "swabs": (
        _box(18, 14, 64, 72, 2),
        "M18 26L82 26M18 74L82 74",
        "M50 34C58 44 62 49 62 55C62 62 57 66 50 66C43 66 38 62 38 55C38 49 42 44 50 34Z",
    ),
    # A wide strap closed to a ring, with the tab that closes it.
    "band": (
        "M12 36C12 18 88 18 88 36C88 54 12 54 12 36Z",
        "M12 36L12 60C12 80 88 80 88 60L88 36",
        "M52 49L52 74M72 46L72 71",
        "M58 56L66 55M58 65L66 64",
    ),
    # A cable in one loop with a plug at each end.
    "cable": (
        _box(8, 14, 20, 16, 3),
        "M8 18L2 18M8 26L2 26",
        "M28 22C92 22 92 54 54 54C30 54 30 36 50 36C78 36 66 78 72 78",
        _box(72, 70, 20, 16, 3),
        "M92 74L98 74M92 82L98 82",
    ),
    # A carton seen from a corner, flaps closed.
    "box": (
        "M50 12L90 30L50 48L10 30Z",
        "M10 30L10 70L50 90L50 48",
        "M90 30L90 70L50 90",
        "M30 21L70 39L70 52",
    ),
    # A soft bag with a zip along the top and its puller, and a wrist loop.
    "pouch": (
        _box(12, 32, 76, 52, 14),
        "M20 46L80 46M28 42L28 50M40 42L40 50M52 42L52 50",
        "M66 46L66 60L72 60L72 46",
        "M84 38C98 30 96 16 86 18C78 20 78 28 82 34",
    ),
    # A small bag with a press-to-close strip, something small inside.
    "small_bag": (
        _box(22, 14, 56, 74, 3),
        "M22 26L78 26M22 32L78 32",
        _circle(42, 68, 7),
        "M54 60L66 60L66 76L54 76Z",
    ),
    # A printed card with a folded corner.
    "card": (
        "M22 12L64 12L78 26L78 88L22 88Z",
        "M64 12L64 26L78 26",
        "M32 42L68 42M32 54L68 54M32 66L54 66",
    ),
    # Anything else: a parcel with its cord and label.
    "other": (
        _box(16, 30, 68, 54, 3),
        "M42 30L42 84M16 48L84 48",
        _box(58, 62, 18, 12),
    ),
}

_TOKEN = re.compile(r"[MLCZ]|-?\d+(?:\.\d+)?")
_NUMBERS = {"M": 2, "L": 2, "C": 6, "Z": 0}


def paths_of(kind: str) -> tuple[str, ...]:
    """Path strings of a part kind ("lead_set"); an unknown kind gets the parcel."""
    return DRAWINGS.get(str(kind), DRAWINGS["other"])


def commands(path: str) -> Iterator[tuple[str, tuple[float, ...]]]:
    """The commands of one path: ``("M", (x, y))``, ``("L", (x, y))``, ``("C", (x1, y1, x2, y2, x,
    y))``, ``("Z", ())``.

    Raises ValueError when the path holds anything else than absolute M, L, C, Z with their numbers.
    """
    tokens = _TOKEN.findall(path)
    if "".join(tokens) != re.sub(r"[\s,]+", "", path):
        raise ValueError(f"path holds more than M, L, C, Z and numbers: {path!r}")
    at = 0
    while at < len(tokens):
        letter = tokens[at]
        if letter not in _NUMBERS:
            raise ValueError(f"a command letter was expected at token {at}: {path!r}")
        count = _NUMBERS[letter]
        numbers = tokens[at + 1 : at + 1 + count]
        if len(numbers) < count or any(n in _NUMBERS for n in numbers):
            raise ValueError(f"{letter} needs {count} numbers: {path!r}")
        yield letter, tuple(float(n) for n in numbers)
        at += 1 + count
