"""Photos that come from outside: looked at before they are opened, made small and without the
camera's data, and read for the codes in them. No rows, no settings.

The desk calls these through `rentals.photos_apart`, in a process of their own.
"""

from __future__ import annotations

import io
from collections.abc import Iterator

import zxingcpp
from PIL import Image, ImageOps

PHOTO_BYTES = 15 * 1024 * 1024
#: A JPEG is unpacked no larger than it is used; every pixel of the others takes four bytes.
JPEG_PIXELS = 60_000_000
OTHER_PIXELS = 24_000_000
PHOTO_SIDE = 1600
#: A label that fills a tenth of the picture still has some pixels for each square of its code.
READING_SIDE = 3200
LONGEST_TEXT = 500
_FORMATS = ("JPEG", "PNG", "WEBP")
_MIB = 2**20


class UnfitPhoto(ValueError):
    """The file is no photo that is taken; the message says why and what to do."""


def small_photo(content: bytes) -> bytes:
    """The photo as a JPEG of at most 1600 pixels a side, upright, without the camera's data (time,
    place, maker).

    Raises
    ------
    UnfitPhoto
        If the file is too large, has too many pixels, or is no photo.
    """
    image = _opened(content, PHOTO_SIDE)
    image.thumbnail((PHOTO_SIDE, PHOTO_SIDE))
    out = io.BytesIO()
    # Pasted into a fresh image, so that nothing that came with the file is written again.
    fresh = Image.new("RGB", image.size, "white")
    fresh.paste(image)
    fresh.save(out, "JPEG", quality=82)
    return out.getvalue()


def codes_in_photo(content: bytes) -> tuple[str, ...]:
    """The texts of all square and bar codes in a photo, each once, from the top down.

    Raises
    ------
    UnfitPhoto
        If the file is no photo that is taken, or no code in it can be read.
    """
    image = _opened(content, READING_SIDE).convert("L")
    for looked_at in _looks(image):
        if texts := _texts_in(looked_at):
            return texts
    raise UnfitPhoto(
        "No code can be read in this photo. Take it again closer, with more light and a steady"
        " hand, the whole code in the picture; or type the letters and digits under it."
    )


def check_photo_size(size: int) -> None:
    """Refuse a file of more bytes than are opened."""
    if size > PHOTO_BYTES:
        raise UnfitPhoto(
            f"The photo has {size // _MIB} MiB; up to {PHOTO_BYTES // _MIB} MiB are taken."
        )


def _opened(content: bytes, side: int) -> Image.Image:
    """The picture of a file, upright; a JPEG is read no larger than `side` asks for."""
    check_photo_size(len(content))
    try:
        # What a header claims costs nothing yet: pixels are unpacked only where it is believable.
        with Image.open(io.BytesIO(content), formats=_FORMATS) as image:
            most = JPEG_PIXELS if image.format == "JPEG" else OTHER_PIXELS
            if image.width * image.height > most:
                raise UnfitPhoto(
                    f"The photo has {image.width} x {image.height} pixels: too many. Take it"
                    " smaller, or as JPEG."
                )
            image.draft("RGB", (side, side))
            return ImageOps.exif_transpose(image).convert("RGB")
    except (UnfitPhoto, MemoryError):
        raise
    except Exception as unreadable:
        # Whatever a damaged or hostile photo makes the reader stumble over, the answer to the
        # sender is the same.
        raise UnfitPhoto(
            "This file is no photo that can be read. Take it again as JPEG."
        ) from unreadable


def _looks(image: Image.Image) -> Iterator[Image.Image]:
    """The picture small and large, as it is and with the light evened out: the cheap looks
    first.
    """
    small = image.copy()
    small.thumbnail((PHOTO_SIDE, PHOTO_SIDE))
    yield small
    if image.size != small.size:
        yield image
    yield ImageOps.autocontrast(small.reduce(2) if min(small.size) > 400 else small, cutoff=2)


def _texts_in(image: Image.Image) -> tuple[str, ...]:
    kinds = zxingcpp.BarcodeFormat
    squares = (kinds.QRCode, kinds.DataMatrix, kinds.Aztec, kinds.PDF417)
    formats = (*squares, kinds.Code128, kinds.Code39)
    found = zxingcpp.read_barcodes(image, formats=formats)  # type: ignore[arg-type]  # stub is old
    found.sort(key=lambda code: (code.position.top_left.y, code.position.top_left.x))
    texts = (" ".join(code.text.split()) for code in found)
    return tuple(dict.fromkeys(text for text in texts if 0 < len(text) <= LONGEST_TEXT))
