"""Fonts of any make for the PDF: collections, cubic and variable outlines, and scripts whose
letters must be shaped.

HarfBuzz shapes the text and traces the glyphs; only glyphs that are used are embedded. A glyph in
its text gets a code of its own, so that what is copied from the PDF is the text as it was written.
"""

from itertools import groupby
from pathlib import Path
from threading import Lock
from typing import Any
from weakref import WeakKeyDictionary

import uharfbuzz as hb
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import (
    FF_SYMBOLIC,
    SUBSETN,
    ShapeData,
    ShapedStr,
    TTEncoding,
    TTFont,
    TTFontFace,
)

from .glyph_tables import Outline, truetype_file

#: Codes of glyphs in their texts: the private planes of Unicode.
_FIRST_CODE = 0xF0000
_REGULAR = 400
#: What a glyph beyond its cluster's characters stands for: readers take a code without a text for
#: the code itself, so it is a space of no width.
_NOTHING = "\u200b"
_SPACE = 32


class OutlineFont(TTFont):
    """One face of a font file. Raises ValueError for a file that is missing or holds none."""

    def __init__(self, name: str, path: Path, index: int = 0) -> None:
        self.fontName = name
        self.face = _OutlineFace(name, path, index)
        self.encoding = TTEncoding()
        self.state: WeakKeyDictionary[Any, TTFont.State] = WeakKeyDictionary()
        self._asciiReadable = False
        self.shapable = True

    def __contains__(self, point: int) -> bool:
        """Whether the face has a glyph for a character, by its code point."""
        return point in self.face.points

    @property
    def family(self) -> str:
        """Name of the family, such as that of one language in a collection."""
        return str(self.face.hb_face.get_name(hb.OTNameIdPredefined.FONT_FAMILY) or "")

    def shaped(self, text: str, language: str = "") -> ShapedStr:
        """The glyphs of a text in one direction, with their places; advances in 1/1000 em."""
        buffer = hb.Buffer()
        buffer.add_str(text)
        buffer.guess_segment_properties()
        if language:
            buffer.language = language
        hb.shape(self.face.hb_font, buffer)
        infos, scale = buffer.glyph_infos, self.face.scale
        parts = _cluster_texts(text, [info.cluster for info in infos])
        codes, data = [], []
        for info, place, part in zip(infos, buffer.glyph_positions, parts, strict=True):
            code = self.face.code_of(info.codepoint, part)
            codes.append(chr(code))
            data.append(
                ShapeData(
                    info.cluster,
                    place.x_advance * scale,
                    place.y_advance * scale,
                    place.x_offset * scale,
                    place.y_offset * scale,
                    self.face.charWidths[code],
                )
            )
        return ShapedStr("".join(codes), data)

    def addObjects(self, doc: Any) -> None:
        """Embed the glyphs used, and say which text each stands for."""
        subsets = list(self.state[doc].subsets) if doc in self.state else []
        super().addObjects(doc)
        for number, codes in enumerate(subsets):
            name = b"".join((SUBSETN(number), b"+", self.face.name, self.face.subfontNameX))
            base = name.decode("ascii")
            stream = doc.idToObject[f"toUnicodeCMap:{base}"]
            stream.content = _to_unicode(base, [self.face.text_of(code) for code in codes])


class _OutlineFace(TTFontFace):
    """What the PDF library asks of a face."""

    def __init__(self, name: str, path: Path, index: int) -> None:
        pdfmetrics.TypeFace.__init__(self, None)
        try:
            self.hb_face = hb.Face(hb.Blob.from_file_path(str(path)), index)
        except (OSError, hb.HarfBuzzError) as error:
            raise ValueError(f"{path} cannot be read ({error})") from error
        self.points = self.hb_face.unicodes
        if not (self.hb_face.glyph_count and len(self.points)):
            raise ValueError(f"{path} holds no outlines")
        self.hb_font = hb.Font(self.hb_face)
        if any(axis.tag == "wght" for axis in self.hb_face.axis_infos):
            self.hb_font.set_variations({"wght": _REGULAR})
        self.filename = str(path)
        self.name, self.subfontNameX = name.encode("ascii"), b""
        self.scale = 1000 / self.hb_face.upem
        extents = self.hb_font.get_font_extents("ltr")
        self.ascent, self.descent = extents.ascender * self.scale, extents.descender * self.scale
        self.bbox = [-1000, self.descent, 3000, self.ascent]
        self.capHeight, self.italicAngle, self.stemV = 700, 0, 88
        self.flags = FF_SYMBOLIC
        self._full_font = False
        self._lock = Lock()
        space = self.hb_font.get_nominal_glyph(_SPACE) or 0
        self.charToGlyph: dict[int, int] = {0: 0, _SPACE: space}
        self._texts: dict[int, str] = {_SPACE: " "}
        self._codes: dict[tuple[int, str], int] = {}
        self.defaultWidth = self._width(0)
        self.charWidths = {_SPACE: self._width(space)}

    def code_of(self, glyph: int, text: str) -> int:
        """The code under which a glyph stands for a text."""
        with self._lock:
            code = self._codes.setdefault((glyph, text), _FIRST_CODE + len(self._codes))
            self.charToGlyph[code] = glyph
            self._texts[code] = text
            self.charWidths[code] = self._width(glyph)
        return code

    def text_of(self, code: int) -> str:
        """The text that a code stands for."""
        return self._texts.get(code, "")

    def makeSubset(self, subset: list[int]) -> bytes:
        """A TrueType file in which glyph i is that of the i-th code."""
        face = self.hb_face
        outlines = []
        for code in subset:
            glyph = self.charToGlyph.get(code, 0)
            outline = Outline(face.upem, self.hb_font.get_glyph_h_advance(glyph))
            self.hb_font.draw_glyph_with_pen(glyph, outline)
            outlines.append(outline)
        extents = self.hb_font.get_font_extents("ltr")
        return truetype_file(outlines, face.upem, extents.ascender, extents.descender)

    def _width(self, glyph: int) -> float:
        return float(self.hb_font.get_glyph_h_advance(glyph) * self.scale)


def _cluster_texts(text: str, clusters: list[int]) -> list[str]:
    """The text of each glyph, so that in drawing order they say what was written: a character for
    each glyph of its cluster, and what remains for the last.
    """
    starts = sorted(set(clusters))
    ends = dict(zip(starts, [*starts[1:], len(text)], strict=True))
    parts = []
    for cluster, glyphs in groupby(clusters):
        characters, count = text[cluster : ends[cluster]], len(list(glyphs))
        parts += [characters[i] if i < len(characters) else _NOTHING for i in range(count - 1)]
        parts.append(characters[count - 1 :] or _NOTHING)
    return parts


def _to_unicode(name: str, texts: list[str]) -> str:
    """The map from codes to texts (ISO 32000, ToUnicode CMaps)."""
    lines = [
        f"<{code:02X}> <{text.encode('utf-16-be').hex().upper()}>"
        for code, text in enumerate(texts)
    ]
    blocks = [lines[i : i + 100] for i in range(0, len(lines), 100)]
    return "\n".join(
        [
            "/CIDInit /ProcSet findresource begin",
            "12 dict begin",
            "begincmap",
            f"/CIDSystemInfo << /Registry ({name}) /Ordering ({name}) /Supplement 0 >> def",
            f"/CMapName /{name} def",
            "/CMapType 2 def",
            "1 begincodespacerange",
            "<00> <FF>",
            "endcodespacerange",
            *(
                line
                for block in blocks
                for line in (f"{len(block)} beginbfchar", *block, "endbfchar")
            ),
            "endcmap",
            "CMapName currentdict /CMap defineresource pop",
            "end",
            "end",
        ]
    )
