"""The one font chooser: every text on paper is split into runs, each in a font that has its
characters.

Order of choice: Noto Sans (Latin, Greek, Cyrillic, Vietnamese), Heebo (Hebrew), Noto Sans Arabic,
then the font files the practice configured, then for Chinese, Japanese and Korean the CID fonts
that PDF names without carrying them. Right-to-left text is shaped and reordered before it is drawn.
What no font has becomes a run without a font.
"""

import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from zlib import crc32

import arabic_reshaper
import fontpkg_heebo
import fontpkg_noto_sans
import fontpkg_noto_sans_arabic
from bidi import get_display
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.cidfonts import UnicodeCIDFont
from reportlab.pdfbase.ttfonts import TTFError, TTFont

CODE_FONT = "Courier-Bold"
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
    ("STSong-Light", "gb2312", "zh-Hans"),
    ("MSung-Light", "big5", "zh-Hant"),
    ("HeiseiKakuGo-W5", "shift_jis", "ja"),
    ("HYSMyeongJo-Medium", "euc_kr", "ko"),
)


@dataclass(frozen=True)
class Run:
    """Text in one font, in the order it is drawn; ``font`` is empty where no font has these
    characters.
    """

    font: str
    text: str
    borrowed: bool = False


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
        self._faces = [_load(path) for path in files] + [_load(Path(path)) for path in extra]
        self.regular = self._faces[0][0]
        self._runs = lru_cache(maxsize=4096)(self._split)
        self._lines = lru_cache(maxsize=512)(self._wrap)

    def runs(self, text: str) -> tuple[Run, ...]:
        """The text in drawing order, left to right, cut where the font changes."""
        return self._runs(text)

    def width(self, text: str, size: float) -> float:
        """Width in points at a type size in points."""
        return sum(self.run_width(run, size) for run in self.runs(text))

    def run_width(self, run: Run, size: float) -> float:
        """Width of one run in points; a missing character is as wide as its box."""
        if not run.font:
            return len(run.text) * BOX_WIDTH_EM * size
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
            for word in paragraph.split():
                joined = f"{lines[-1]} {word}".strip()
                if self.width(joined, size) <= room:
                    lines[-1] = joined
                    continue
                if lines[-1]:
                    lines.append("")
                for character in word:
                    if lines[-1] and self.width(lines[-1] + character, size) > room:
                        lines.append("")
                    lines[-1] += character
        return tuple(lines)

    def _split(self, text: str) -> tuple[Run, ...]:
        drawn = _in_drawing_order(unicodedata.normalize("NFC", _one_line(text)))
        language = _language(drawn)
        runs: list[Run] = []
        for character in drawn:
            font, borrowed = self._font_of(character, language, runs[-1] if runs else None)
            if runs and runs[-1].font == font:
                runs[-1] = Run(font, runs[-1].text + character, borrowed)
            else:
                runs.append(Run(font, character, borrowed))
        return tuple(runs)

    def _font_of(self, character: str, language: str, before: Run | None) -> tuple[str, bool]:
        point = ord(character)
        if any(low <= point <= high for low, high in _NEEDS_SHAPING):
            return "", False
        if character == " " and before and before.font:
            return before.font, before.borrowed
        for name, glyphs in self._faces:
            if point in glyphs:
                return name, False
        for name, codec, _ in sorted(_CID, key=lambda cid: cid[2] != language):
            if _has(codec, character):
                return _cid(name), True
        return "", False


@lru_cache(maxsize=8)
def fonts_at_hand(extra: tuple[str, ...] = ()) -> FontChooser:
    """The chooser with the practice's own TrueType files behind the built-in ones.

    Raises ValueError, naming the file, for a font file that is missing or is not TrueType.
    """
    return FontChooser(extra)


def _one_line(text: str) -> str:
    """Line breaks and tabs become spaces; control and invisible direction characters go."""
    spaced = "".join(" " if c.isspace() else c for c in text)
    return "".join(c for c in spaced if unicodedata.category(c) not in ("Cc", "Cf"))


def _in_drawing_order(text: str) -> str:
    """Arabic letters joined, then everything in left-to-right order as the eye meets it (UAX 9)."""
    if not any(unicodedata.bidirectional(c) in ("R", "AL") for c in text):
        return text
    return get_display(arabic_reshaper.reshape(text))


def _language(text: str) -> str:
    """Which language's shapes Han characters get: told by the kana, bopomofo or hangul beside
    them.
    """
    for character in text:
        point = ord(character)
        if 0x3040 <= point <= 0x30FF:
            return "ja"
        if 0xAC00 <= point <= 0xD7A3 or 0x1100 <= point <= 0x11FF:
            return "ko"
    han = [c for c in text if 0x4E00 <= ord(c) <= 0x9FFF]
    return next(
        (tag for _, codec, tag in _CID if han and all(_has(codec, c) for c in han)), "zh-Hans"
    )


def _has(codec: str, character: str) -> bool:
    try:
        character.encode(codec)
    except UnicodeEncodeError:
        return False
    return True


def _only_file(root: Path, pattern: str) -> Path:
    return next(path for path in sorted(root.rglob(pattern)) if path.suffix == ".ttf")


@lru_cache(maxsize=32)
def _load(path: Path) -> tuple[str, frozenset[int]]:
    name = (
        "KD-" + "".join(c for c in path.stem if c.isalnum()) + f"-{crc32(str(path).encode()):08x}"
    )
    try:
        font = TTFont(name, str(path))
    except (TTFError, OSError) as error:
        raise ValueError(
            f"{path} cannot be used as a font: it is missing, or holds no TrueType outlines, "
            f"which alone can be embedded ({error})."
        ) from error
    pdfmetrics.registerFont(font)
    # The library takes two files with one inner name for one font: what is drawn with counts, not
    # what was read.
    return name, frozenset(pdfmetrics.getFont(name).face.charToGlyph)


@lru_cache(maxsize=8)
def _cid(name: str) -> str:
    pdfmetrics.registerFont(UnicodeCIDFont(name))
    return name
