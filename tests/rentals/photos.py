"""Photos of labels for tests: the product's own labels, printed, photographed badly, sent."""

from __future__ import annotations

import io

from django.core.files.base import ContentFile
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from rentals.actions.line_photos import add_photos, laid_photos
from rentals.models import PackingLine
from rentals.paper.facts import LabelFacts
from rentals.paper.labels import part_labels
from rentals.paper.sheets import LETTER_SHEET

from .paper.reading import picture, poor

SITE = "https://kits.ease.example"


def printed_label(*codes: str) -> Image.Image:
    """The labels of parts as they come from the printer, side by side on a cut of the sheet."""
    facts = [LabelFacts(code, "Charger", ("serial 1",), SITE, "Ease") for code in codes]
    page = picture(part_labels(facts, LETTER_SHEET).pdf, dpi=200)
    return page.crop((0, 0, page.width, page.height // 4))


def photographed(label: Image.Image, angle: float = 17) -> Image.Image:
    """As a phone sees it: on a grey table, turned, with poor light and noise."""
    table = Image.new("L", (2400, 1800), 120)
    table.paste(label, (300, 300))
    return poor(table.rotate(angle, fillcolor=110, resample=Image.Resampling.BICUBIC))


def sent(image: Image.Image, form: str = "JPEG", **facts: object) -> SimpleUploadedFile:
    """A picture as a file that a browser sends."""
    out = io.BytesIO()
    image.save(out, form, **facts)
    return SimpleUploadedFile(f"photo.{form.lower()}", out.getvalue(), f"image/{form.lower()}")


def add_pictures(line: PackingLine, *contents: bytes, **facts: object) -> int:
    """Keep photos of these bytes with a line; how many are new."""
    files = [ContentFile(content, name="photo.jpg") for content in contents]
    with laid_photos(files) as photos:
        return add_photos(line, photos, **facts)
