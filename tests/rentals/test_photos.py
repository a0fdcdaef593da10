"""Photos that come from outside: codes read from them, made small, and hostile files refused."""

import io
import struct
import zlib

import pytest
import zxingcpp
from PIL import Image

from rentals.codes import code_link, make_code, parse_code
from rentals.photos import PHOTO_BYTES, UnfitPhoto, codes_in_photo, small_photo

from .photos import SITE, photographed, printed_label, sent

CODE = make_code("P", 14)


@pytest.mark.parametrize("angle", [0, 17, 95])
def test_a_printed_label_is_read_from_a_turned_and_noisy_photo(angle):
    photo = photographed(printed_label(CODE), angle)
    assert codes_in_photo(sent(photo, quality=60).read()) == (code_link(SITE, CODE),)


def test_a_photo_that_lies_on_its_side_is_read_and_one_of_a_barcode():
    photo = photographed(printed_label(CODE))
    exif = Image.Exif()
    exif[0x0112] = 6
    (text,) = codes_in_photo(sent(photo, "JPEG", exif=exif).read())
    assert parse_code(text) == CODE
    bars = zxingcpp.create_barcode("RR123456789XY", zxingcpp.BarcodeFormat.Code128)
    image = Image.fromarray(zxingcpp.write_barcode_to_image(bars, scale=3, add_quiet_zones=True))
    table = Image.new("L", (1200, 900), 230)
    table.paste(image.convert("L"), (100, 300))
    assert codes_in_photo(sent(table, "PNG").read()) == ("RR123456789XY",)


def test_several_codes_are_all_given_once():
    codes = [make_code("P", number) for number in (1, 2)]
    texts = codes_in_photo(
        sent(photographed(printed_label(*codes, codes[0]), 3), quality=90).read()
    )
    assert sorted(map(parse_code, texts)) == sorted(codes)


def test_a_photo_without_a_code_says_how_to_take_a_better_one():
    with pytest.raises(UnfitPhoto, match="closer, with more light"):
        codes_in_photo(sent(Image.new("RGB", (900, 700), "tan")).read())


def claims_to_be_huge() -> bytes:
    """A file of some bytes whose header claims 40,000 by 40,000 pixels."""
    head = struct.pack(">IIBBBBB", 40_000, 40_000, 8, 2, 0, 0, 0)

    def chunk(kind: bytes, data: bytes) -> bytes:
        check = zlib.crc32(kind + data)
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", check)

    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 999))


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"no photo",
        b"\xff\xd8\xff" + b"\0" * 50,
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"%PDF-1.7",
        claims_to_be_huge(),
        sent(Image.new("RGB", (900, 700)), "JPEG").read()[:400],
        sent(Image.new("RGB", (40, 30)), "TIFF").read(),
    ],
)
@pytest.mark.parametrize("read", [codes_in_photo, small_photo])
def test_what_is_no_photo_is_refused_in_words(read, content):
    with pytest.raises(UnfitPhoto, match=r"Take it again as JPEG|too many"):
        read(content)


def test_a_file_that_is_too_large_is_not_even_opened():
    with pytest.raises(UnfitPhoto, match="up to 15 MiB"):
        small_photo(b"\0" * (PHOTO_BYTES + 1))
    with pytest.raises(UnfitPhoto, match="5000 x 5000 pixels.*or as JPEG"):
        small_photo(sent(Image.new("1", (5000, 5000)), "PNG").read())


def test_a_small_photo_is_upright_and_knows_nothing_of_its_camera():
    exif = Image.Exif()
    exif[0x0112], exif[0x010F] = 6, "Maker"
    exif.get_ifd(0x8825)[2] = (48.0, 12.0, 30.0)
    jpeg = small_photo(
        sent(Image.new("RGB", (3000, 2000), "tan"), exif=exif, comment=b"at home").read()
    )
    with Image.open(io.BytesIO(jpeg)) as image:
        assert image.format == "JPEG"
        assert image.size == (1067, 1600)
        assert not image.getexif()
        assert "comment" not in image.info
    assert b"Maker" not in jpeg and b"at home" not in jpeg
