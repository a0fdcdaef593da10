import struct
import unicodedata
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import fontpkg_heebo
import pytest
from pypdf import PdfReader

from rentals.paper import found_fonts
from rentals.paper.fonts import fonts_at_hand
from rentals.paper.packing_list import packing_list

from .made_up import PARCEL
from .reading import letters_of, picture, text_of

EMBEDDED = {
    "Polish": "Łucja Żółć-Ćwikła",
    "Vietnamese": "Nguyễn Thị Ánh Tuyết",
    "Icelandic": "Þórdís Ægisdóttir",
    "Turkish": "Işıl Öğütçü",
    "Greek": "Ελένη Παππά",
    "Cyrillic": "Алёна Ковалёва",
}
RIGHT_TO_LEFT = {"Arabic": "سارة العلي", "Persian": "پریسا گلچین", "Hebrew": "שרה כהן"}
BORROWED = {
    "STSong-Light": "刘晓伟",
    "MSung-Light": "劉曉偉",
    "HeiseiKakuGo-W5": "田中みどり",
    "HYSMyeongJo-Medium": "김민준",
}


@pytest.mark.parametrize("name", EMBEDDED.values(), ids=EMBEDDED)
def test_names_in_european_and_vietnamese_letters_print_and_read_back(name):
    printed = packing_list(replace(PARCEL, student=name))
    assert unicodedata.normalize("NFKC", name) in text_of(printed.pdf)
    assert printed.unprintable == printed.borrowed == ()


@pytest.mark.parametrize("name", RIGHT_TO_LEFT.values(), ids=RIGHT_TO_LEFT)
def test_right_to_left_names_are_drawn_from_the_right_and_read_back(name):
    # Runs are drawn from the left, so they hold the mirror image; NFKC turns joined letters into
    # plain ones.
    drawn = "".join(run.text for run in fonts_at_hand().runs(name))
    assert unicodedata.normalize("NFKC", drawn) == name[::-1]
    printed = packing_list(replace(PARCEL, student=name))
    assert name in text_of(printed.pdf)  # a reader turns right-to-left text round again
    assert printed.unprintable == printed.borrowed == ()


def test_arabic_letters_are_joined():
    (run,) = fonts_at_hand().runs("سارة")
    assert all(0xFB50 <= ord(c) <= 0xFEFF for c in run.text)
    assert unicodedata.name(run.text[-1]).endswith("INITIAL FORM")


def test_numbers_inside_right_to_left_text_keep_their_order():
    drawn = "".join(run.text for run in fonts_at_hand().runs("רחוב הדקל 17"))
    assert drawn == "17 לקדה בוחר"


@pytest.mark.parametrize(("font", "name"), BORROWED.items())
def test_east_asian_names_get_their_own_languages_typeface_and_are_reported(
    font, name, no_fonts_found
):
    printed = packing_list(replace(PARCEL, student=name))
    assert [run.font for run in fonts_at_hand().runs(name)] == [font]
    assert name in text_of(printed.pdf)
    assert printed.unprintable == ()
    assert name in printed.borrowed
    assert "typeface on the device" in text_of(printed.pdf)


def test_han_beside_kana_or_hangul_takes_their_shapes(no_fonts_found):
    fonts = fonts_at_hand()
    assert [run.font for run in fonts.runs("直子の弓")] == ["HeiseiKakuGo-W5"]
    assert [run.font for run in fonts.runs("金 민준")] == ["HYSMyeongJo-Medium"]


@pytest.mark.parametrize("name", ["Mila 🎻", "អ ཨོཾ", "\ue000"])
def test_what_no_font_can_draw_is_a_visible_box_and_named(name, no_fonts_found):
    printed = packing_list(replace(PARCEL, student=name))
    assert printed.unprintable[0].startswith(f"{name} (U+")
    # The same page with the characters left out has less ink: the box is there to be seen.
    assert ink(printed.pdf) > ink(
        packing_list(replace(PARCEL, student=" ".join(name.split()[:-1]))).pdf
    )


def test_letters_with_separate_accents_are_put_together():
    (run,) = fonts_at_hand().runs(unicodedata.normalize("NFD", "Ánh Nguyễn"))
    assert run.text == "Ánh Nguyễn"


def test_line_breaks_and_control_characters_do_not_reach_the_page():
    assert "".join(run.text for run in fonts_at_hand().runs("a\nb\tc\x07\u202ed")) == "a b cd"


def test_a_mixed_text_is_cut_where_the_font_changes(no_fonts_found):
    runs = fonts_at_hand().runs("Łucja שרה 王")
    assert [run.text for run in runs] == ["Łucja ", "הרש ", "王"]
    assert len({run.font for run in runs}) == 3


def test_the_width_is_the_sum_of_the_runs(no_fonts_found):
    fonts = fonts_at_hand()
    assert fonts.width("Łucja 王", 10) == pytest.approx(fonts.width("Łucja ", 10) + 10)
    assert fonts.width("🎻", 10) == pytest.approx(6)


SHAPED = {
    "Thai": "สมชาย ใจดี ที่นี่ น้ำ",
    "Devanagari": "प्रिया शर्मा क्षत्रिय",
    "Tamil": "தமிழ்ச்செல்வி",
    "Telugu": "శ్రీనివాస్",
    "Bengali": "সুস্মিতা চক্রবর্তী",
    "Khmer": "សុភា ខ្មែរ",
}


@pytest.mark.parametrize("name", SHAPED.values(), ids=SHAPED)
def test_scripts_that_must_be_shaped_are_embedded_and_read_back_as_written(name, no_fonts_found):
    printed = packing_list(replace(PARCEL, student=name))
    assert printed.unprintable == printed.borrowed == ()
    assert unicodedata.normalize("NFKC", name) in letters_of(printed.pdf)
    assert fonts_of(printed.pdf) and all(fonts_of(printed.pdf).values())


def test_letters_that_join_become_one_glyph_and_marks_take_no_room():
    fonts = fonts_at_hand()
    (conjunct,) = fonts.runs("क्ष")
    assert len(conjunct.glyphs) == 1
    assert fonts.width("ที่", 10) == pytest.approx(fonts.width("ท", 10))


def test_a_joiner_keeps_letters_apart_and_leaves_no_trace():
    joined, apart = (fonts_at_hand().runs(text) for text in ("علیرضا", "علی\u200cرضا"))
    assert [run.text for run in joined] != [run.text for run in apart]
    assert all("\u200c" not in run.text for run in apart)


needs_east_asian = pytest.mark.skipif(
    not found_fonts.east_asian_files(),
    reason="No Noto Sans CJK: apt-get install fonts-noto-cjk, or pip install noto-cjk-sans-otc",
)


@needs_east_asian
@pytest.mark.parametrize(
    "name", ["刘晓伟 玥喆堃珺", "劉曉偉", "田中みどり 髙橋 﨑", "김민준 똠방각하", "㐂𠮷 𡈽"]
)
def test_east_asian_names_are_embedded_where_the_machine_has_the_font(name):
    printed = packing_list(replace(PARCEL, student=name))
    assert printed.unprintable == printed.borrowed == ()
    assert unicodedata.normalize("NFKC", name) in text_of(printed.pdf)
    assert all(fonts_of(printed.pdf).values())


@needs_east_asian
def test_the_country_decides_the_shapes_of_han_characters_that_do_not_tell():
    fonts = fonts_at_hand()
    faces = {country: fonts.runs("直骨", country)[0].font for country in ("CN", "TW", "JP", "KR")}
    assert len(set(faces.values())) == 4
    assert fonts.runs("直子の弓", "CN")[0].font == faces["JP"]
    assert fonts.runs("直骨", "DE")[0].font == faces["CN"]


def fonts_of(pdf: bytes) -> dict[str, bool]:
    """The fonts that draw the names, and whether the file carries each."""
    found = {}
    for page in PdfReader(BytesIO(pdf)).pages:
        for font in page["/Resources"]["/Font"].values():
            font = font.get_object()
            descriptor = font.get("/FontDescriptor")
            if "KD-" in font["/BaseFont"] or "DescendantFonts" in str(font):
                found[font["/BaseFont"]] = bool(descriptor and "/FontFile2" in descriptor)
    return found


def test_a_font_of_the_practice_is_used_before_a_borrowed_one_and_is_embedded(
    tmp_path, no_fonts_found
):
    own = tmp_path / "own.ttf"
    own.write_bytes(with_glyphs_for("王玌", Path(fontpkg_heebo.ROOT) / "files" / "Heebo[wght].ttf"))
    fonts = fonts_at_hand((str(own),))
    assert [(run.font != "", run.borrowed) for run in fonts.runs("王玌")] == [(True, False)]
    printed = packing_list(replace(PARCEL, student="王玌"), fonts=fonts)
    assert printed.unprintable == printed.borrowed == ()
    assert "For 王玌" in text_of(printed.pdf)
    borrowed = packing_list(replace(PARCEL, student="王"))
    assert "王" in borrowed.borrowed


@pytest.mark.parametrize("content", [None, b"", b"not a font at all", b"OTTO\x00\x00"])
def test_a_font_file_that_is_none_is_refused_by_name(tmp_path, content):
    path = tmp_path / "brought.ttf"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(ValueError, match=r"brought\.ttf cannot be used as a font"):
        fonts_at_hand((str(path),))


def ink(pdf: bytes) -> int:
    """Dark pixels in the head of the page, where the student's name stands."""
    page = picture(pdf, dpi=150)
    head = page.crop((0, 0, page.width // 3, page.height // 4))
    return sum(head.histogram()[:128])


def with_glyphs_for(characters: str, path: Path) -> bytes:
    """A TrueType font with glyphs for neighbouring characters alone, under a name of its own.

    Its character map (cmap, format 12) is replaced, and each place that holds its name.
    """
    font = bytearray(path.read_bytes())
    for encoding in ("utf-16-be", "ascii"):
        font = font.replace("Heebo-Regular".encode(encoding), "Own00-Regular".encode(encoding))
    group = struct.pack(">LLL", ord(characters[0]), ord(characters[-1]), 40)
    table = (
        struct.pack(">HHHHL", 0, 1, 3, 10, 12)
        + struct.pack(">HHLLL", 12, 0, 16 + len(group), 0, 1)
        + group
    )
    for entry in range(12, 12 + 16 * struct.unpack_from(">H", font, 4)[0], 16):
        if font[entry : entry + 4] == b"cmap":
            words = struct.unpack(f">{len(table) // 4}L", table)
            struct.pack_into(
                ">LLL", font, entry + 4, sum(words) & 0xFFFFFFFF, len(font), len(table)
            )
    return bytes(font) + table
