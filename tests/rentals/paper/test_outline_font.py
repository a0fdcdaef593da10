from io import BytesIO
from pathlib import Path

import fontpkg_noto_sans
import fontpkg_noto_sans_devanagari
import pytest
from pypdf import PdfReader
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas

from rentals.paper.outline_font import OutlineFont

pytestmark = pytest.mark.any_database

FILE = Path(fontpkg_noto_sans_devanagari.ROOT, "files", "NotoSansDevanagari[wdth,wght].ttf")


@pytest.fixture(scope="module")
def font() -> OutlineFont:
    return OutlineFont("KD-Test", FILE)


def test_a_face_knows_its_family_and_characters(font):
    assert ord("क") in font and ord("王") not in font
    assert font.family.endswith("Devanagari")


def test_a_glyph_stands_for_the_text_it_was_shaped_from(font):
    glyphs = font.shaped("क्षि")
    texts = [font.face.text_of(ord(code)) for code in glyphs]
    assert "".join(texts) == "क्षि"
    assert font.shaped("क्षि") == glyphs
    assert all(texts)
    assert font.face.text_of(1) == ""


def test_more_glyphs_than_one_subset_holds_are_drawn_and_read_back():
    font = OutlineFont("KD-Many", Path(fontpkg_noto_sans.ROOT, "files", "NotoSans[wdth,wght].ttf"))
    pdfmetrics.registerFont(font)
    letters = "".join(chr(point) for point in range(0x391, 0x530) if chr(point).isalpha())
    letters = "".join(letter for letter in letters if ord(letter) in font)
    texts = [letters[i : i + 20] for i in range(0, len(letters), 20)]
    file = BytesIO()
    canvas = Canvas(file)
    canvas.setFont("KD-Many", 9)
    for i, line in enumerate(texts):
        canvas.drawString(20, 820 - 20 * i, font.shaped(line))
    assert len(font.state[canvas._doc].subsets) > 1
    canvas.save()
    read = PdfReader(file).pages[0].extract_text()
    assert all(line in read for line in texts)


@pytest.mark.parametrize("content", [None, b"", b"OTTO\x00\x00"])
def test_a_file_without_a_face_is_refused(content, tmp_path):
    path = tmp_path / "brought.otf"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(ValueError, match=r"brought\.otf"):
        OutlineFont("KD-None", path)
