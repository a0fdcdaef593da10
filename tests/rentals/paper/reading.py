"""What a reader gets from a finished PDF: its text, its pages as pictures, and the QR codes on
them.
"""

import unicodedata
from io import BytesIO

import numpy as np
import pypdfium2
import zxingcpp
from PIL import Image, ImageFilter
from pypdf import PdfReader


def page_texts(pdf: bytes) -> list[str]:
    """Text of each page, NFKC, runs of white space as one space."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        texts = [page.get_textpage().get_text_range() for page in document]
    finally:
        document.close()
    return [" ".join(unicodedata.normalize("NFKC", text).split()) for text in texts]


def text_of(pdf: bytes) -> str:
    return " ".join(page_texts(pdf))


def letters_of(pdf: bytes) -> str:
    """The same with letters as they follow each other in the file, not by where they stand: shaping
    moves some. Ten times as slow.
    """
    texts = [page.extract_text() for page in PdfReader(BytesIO(pdf)).pages]
    return " ".join(unicodedata.normalize("NFKC", " ".join(texts)).split())


def page_sizes(pdf: bytes) -> list[tuple[float, float]]:
    return [
        (float(p.mediabox.width), float(p.mediabox.height)) for p in PdfReader(BytesIO(pdf)).pages
    ]


def picture(pdf: bytes, page: int = 0, dpi: int = 300) -> Image.Image:
    """One page in grey."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return document[page].render(scale=dpi / 72).to_pil().convert("L")
    finally:
        document.close()


def poor(image: Image.Image, seed: int = 7) -> Image.Image:
    """As off a bad printer and a cheap camera: less contrast, uneven light, noise of 12 grey
    levels.
    """
    rng = np.random.default_rng(seed)
    grey = np.asarray(image, dtype=float)
    light = np.linspace(0.75, 1.0, grey.shape[1])[None, :]
    spoilt = (50 + grey * 0.7) * light + rng.normal(0, 12, grey.shape)
    return Image.fromarray(np.clip(spoilt, 0, 255).astype(np.uint8))


def as_photographed(image: Image.Image, dpi: int, seed: int = 3) -> Image.Image:
    """As a phone held askew sees it: turned by 15 degrees, narrower at the top, out of focus by a
    tenth of a millimetre on the label, noisy, in uneven light.
    """
    turned = image.rotate(15, expand=True, fillcolor=255, resample=Image.Resampling.BICUBIC)
    width, height = turned.size
    off = 0.08 * width
    corners = (-off, -0.5 * off, 0, height, width, height, width + off, -0.5 * off)
    askew = turned.transform(
        turned.size,
        Image.Transform.QUAD,
        corners,
        resample=Image.Resampling.BICUBIC,
        fillcolor=255,
    )
    return poor(askew.filter(ImageFilter.GaussianBlur(0.1 * dpi / 25.4)), seed)


def codes_in(image: Image.Image) -> list[str]:
    """Texts of all QR codes in a picture, sorted."""
    found = zxingcpp.read_barcodes(np.asarray(image), formats=zxingcpp.BarcodeFormat.QRCode)
    return sorted(code.text for code in found)
