"""The one font chooser: every text on paper is split into runs, each in a font that has its
characters.

Order of choice: Noto Sans (Latin, Greek, Cyrillic, Vietnamese), Heebo (Hebrew), Noto Sans Arabic,
the fonts of scripts that must be shaped (Thai, Devanagari and their kin), then the font files the
practice configured, then what was found on this machine (see ``found_fonts``), last for Chinese,
Japanese and Korean the CID fonts that PDF names without carrying them. Right-to-left text is shaped
and reordered before it is drawn. What no font has becomes a run without a font.
"""

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain
from pathlib import Path
from zlib import crc32

import arabic_reshaper
import fontpkg_heebo
import fontpkg_hind_siliguri
import fontpkg_noto_sans
import fontpkg_noto_sans_arabic
import fontpkg_noto_sans_devanagari
import fontpkg_noto_sans_khmer
import fontpkg_noto_sans_tamil
import fontpkg_noto_sans_telugu
import fontpkg_noto_sans_thai
import fontpkg_roboto_mono
from bidi import get_display
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.cidfonts import UnicodeCIDFont
from reportlab.pdfbase.ttfonts import ShapedStr, TTFont

from . import found_fonts
from .east_asian import (
    JAPANESE,
    KOREAN,
    SIMPLIFIED,
    TRADITIONAL,
    has_character,
    language_of,
    language_of_family,
)
from .line_breaks import pieces
from .outline_font import OutlineFont

BOX_WIDTH_EM = 0.6

#: Scripts whose letters must be joined or reordered by a shaping engine; drawn letter by letter
#: they would misread.
_NEEDS_SHAPING = (
    (0x0900, 0x0DFF),
    (0x0E00, 0x0EFF),
    (0x0F00, 0x109F),
    (0x1780, 0x17FF),
    (0x1A00, 0x1AAF),
)

#: CID font, character set it is known to hold (as a codec), and the language it belongs to.
_CID = (
    ("STSong-Light", has_character("gbk"), SIMPLIFIED),
    ("MSung-Light", has_character("cp950"), TRADITIONAL),
    ("HeiseiKakuGo-W5", has_character("cp932"), JAPANESE),
    ("HYSMyeongJo-Medium", has_character("cp949"), KOREAN),
)
_SHAPED = (
    (fontpkg_noto_sans_thai, "NotoSansThai[[]*"),
    (fontpkg_noto_sans_devanagari, "NotoSansDevanagari[[]*"),
    (fontpkg_noto_sans_tamil, "NotoSansTamil[[]*"),
    (fontpkg_noto_sans_telugu, "NotoSansTelugu[[]*"),
    (fontpkg_noto_sans_khmer, "NotoSansKhmer[[]*"),
    (fontpkg_hind_siliguri, "HindSiliguri-Regular*"),
)
#: Zero-width joiners, which a shaping engine minds, and every other font leaves out.
_JOINERS = "\u200c\u200d"
#: Where a line may end; a no-break space is none.
_BREAKABLE = re.compile(r"[^\S\u00a0\u202f]+")
#: No collection has more faces.
_MOST_FACES = 32


@dataclass(frozen=True)
class Run:
    """Text in one font, in the order it is drawn; ``font`` is empty where no font has these
    characters. ``glyphs`` are the same text as a shaping font draws it.
    """

    font: str
    text: str
    borrowed: bool = False
    glyphs: ShapedStr | None = None

    @property
    def drawn(self) -> str:
        """What is given to the page."""
        return self.text if self.glyphs is None else self.glyphs


class FontChooser:
    """Fonts at hand, and how a text divides among them. Holds no state of a document; safe between
    threads.
    """

    def __init__(self, extra: tuple[str, ...] = ()) -> None:
        files = (
            _only_file(fontpkg_noto_sans.ROOT, "NotoSans[[]*"),
            _only_file(fontpkg_heebo.ROOT, "Heebo*"),
            _only_file(fontpkg_noto_sans_arabic.ROOT, "NotoSansArabic*"),
        )
        self._faces = [_load(path) for path in files]
        self._shaping = [_outlines(_only_file(font.ROOT, name)) for font, name in _SHAPED]
        self._extra = [_brought(Path(path)) for path in extra]
        self.regular = self._faces[0][0]
        self._runs = lru_cache(maxsize=4096)(self._split)
        self._lines = lru_cache(maxsize=512)(self._wrap)

    def runs(self, text: str, country: str = "") -> tuple[Run, ...]:
        """The text in drawing order, left to right, cut where the font changes; Han characters in
        the shapes of ``country`` (ISO 3166-1 alpha-2) where they do not tell their language.
        """
        return self._runs(text, country)

    def width(self, text: str, size: float) -> float:
        """Width in points at a type size in points."""
        return sum(self.run_width(run, size) for run in self.runs(text))

    def run_width(self, run: Run, size: float) -> float:
        """Width of one run in points; a missing character is as wide as its box."""
        if not run.font:
            return len(run.text) * BOX_WIDTH_EM * size
        if run.glyphs is not None:
            return sum(place.x_advance for place in run.glyphs.__shapeData__) * size / 1000
        return pdfmetrics.stringWidth(run.text, run.font, size)

    def wrapped(self, text: str, size: float, room: float) -> tuple[str, ...]:
        """The text in lines no wider than ``room`` points; its own line breaks are kept, long words
        are cut.
        """
        return self._lines(text, size, room)

    def _wrap(self, text: str, size: float, room: float) -> tuple[str, ...]:
        lines: list[str] = []
        for paragraph in text.splitlines():
            lines.append("")
            for word in _BREAKABLE.split(paragraph.strip()):
                joined = f"{lines[-1]} {word}".strip()
                if self.width(joined, size) <= room:
                    lines[-1] = joined
                    continue
                if lines[-1]:
                    lines.append("")
                for piece in pieces(word):
                    if lines[-1] and self.width(lines[-1] + piece, size) > room:
                        lines.append("")
                    lines[-1] += piece
        return tuple(lines)

    def _split(self, text: str, country: str) -> tuple[Run, ...]:
        drawn = _in_drawing_order(unicodedata.normalize("NFC", _one_line(text)))
        language = language_of(drawn, country)
        runs: list[Run] = []
        for character in drawn:
            before = runs[-1] if runs else None
            found = self._font_of(character, language, before)
            if found is None:
                continue
            if before and before.font == found[0]:
                runs[-1] = Run(before.font, before.text + character, before.borrowed)
            else:
                runs.append(Run(found[0], character, found[1]))
        return tuple(_with_glyphs(run, language) for run in runs)

    def _font_of(
        self, character: str, language: str, before: Run | None
    ) -> tuple[str, bool] | None:
        """The font of a character and whether it is borrowed; None for a joiner that the font
        before it does not mind.
        """
        point = ord(character)
        if character in _JOINERS or _picks_a_variant(point):
            return (before.font, False) if before and _shapes(before.font) else None
        if character == " " and before and before.font:
            return before.font, before.borrowed
        is_private = unicodedata.category(character) == "Co"
        must_be_shaped = is_private or any(low <= point <= high for low, high in _NEEDS_SHAPING)
        if not must_be_shaped:
            for name, glyphs in self._faces:
                if point in glyphs:
                    return name, False
        others = () if is_private else chain(self._shaping, _found(point, language))
        for font in chain(self._extra, others):
            if point in font:
                return font.fontName, False
        if must_be_shaped:
            return "", False
        for name, has, _ in sorted(_CID, key=lambda cid: cid[2] != language):
            if has(character):
                return _cid(name), True
        return "", False


@lru_cache(maxsize=8)
def fonts_at_hand(extra: tuple[str, ...] = ()) -> FontChooser:
    """The chooser with the practice's own font files behind the built-in ones.

    Raises ValueError, naming the file, for a font file that is missing or holds no outlines.
    """
    return FontChooser(extra)


@lru_cache(maxsize=1)
def code_font() -> str:
    """The font of codes: every character 0.6 em wide, the zero struck through."""
    return _load(_only_file(fontpkg_roboto_mono.ROOT, "RobotoMono[[]*"))[0]


def _one_line(text: str) -> str:
    """Line breaks and tabs become spaces; control and invisible direction characters go."""
    spaced = "".join(" " if c.isspace() else c for c in text)
    return "".join(
        c for c in spaced if c in _JOINERS or unicodedata.category(c) not in ("Cc", "Cf")
    )


def _in_drawing_order(text: str) -> str:
    """Arabic letters joined, then everything in left-to-right order as the eye meets it (UAX 9)."""
    if not any(unicodedata.bidirectional(c) in ("R", "AL") for c in text):
        return text
    return get_display(arabic_reshaper.reshape(text))


def _picks_a_variant(point: int) -> bool:
    """Whether a character only chooses a variant of the one before it."""
    return 0xFE00 <= point <= 0xFE0F or 0xE0100 <= point <= 0xE01EF


def _shapes(font: str) -> bool:
    return bool(font) and isinstance(pdfmetrics.getFont(font), OutlineFont)


def _with_glyphs(run: Run, language: str) -> Run:
    if not _shapes(run.font):
        return run
    glyphs = pdfmetrics.getFont(run.font).shaped(run.text, language)
    return Run(run.font, run.text, run.borrowed, glyphs)


def _found(point: int, language: str) -> Iterator[OutlineFont]:
    """Fonts of this machine that may have a character, the language's own first."""
    if point < 0x0250:
        return
    faces = [face for path in found_fonts.east_asian_files() for face in _east_asian(path)]
    yield from (font for tag, font in sorted(faces, key=lambda face: face[0] != language))
    yield from (font for path in found_fonts.other_files() for font in _usable(path))


@lru_cache(maxsize=16)
def _east_asian(path: Path) -> tuple[tuple[str, OutlineFont], ...]:
    """The faces of a file by their language, without those of fixed width."""
    faces = ((language_of_family(font.family), font) for font in _all_faces(path))
    return tuple((language, font) for language, font in faces if language)


def _all_faces(path: Path) -> Iterator[OutlineFont]:
    """The faces of a file; none of one that cannot be read, which is not the practice's doing."""
    for index in range(_MOST_FACES):
        try:
            yield _outlines(path, index)
        except ValueError:
            return


@lru_cache(maxsize=512)
def _usable(path: Path) -> tuple[OutlineFont, ...]:
    try:
        return (_outlines(path),)
    except ValueError:
        return ()


def _brought(path: Path) -> OutlineFont:
    """A file that the practice configured; ValueError names one that is of no use."""
    try:
        return _outlines(path)
    except ValueError as problem:
        raise ValueError(
            f"{path} cannot be used as a font: it is missing, or holds no outlines ({problem})."
        ) from problem


@lru_cache(maxsize=512)
def _outlines(path: Path, index: int = 0) -> OutlineFont:
    font = OutlineFont(f"{_font_name(path)}-{index}", path, index)
    pdfmetrics.registerFont(font)
    return font


def _font_name(path: Path) -> str:
    plain = "".join(c for c in path.stem if c.isascii() and c.isalnum())
    return f"KD-{plain}-{crc32(str(path).encode()):08x}"


def _only_file(root: Path, pattern: str) -> Path:
    return next(path for path in sorted(root.rglob(pattern)) if path.suffix == ".ttf")


@lru_cache(maxsize=32)
def _load(path: Path) -> tuple[str, frozenset[int]]:
    """A font that needs no shaping and has quadratic outlines: drawn letter by letter."""
    name = _font_name(path)
    pdfmetrics.registerFont(TTFont(name, str(path)))
    return name, frozenset(pdfmetrics.getFont(name).face.charToGlyph)


@lru_cache(maxsize=8)
def _cid(name: str) -> str:
    pdfmetrics.registerFont(UnicodeCIDFont(name))
    return name
