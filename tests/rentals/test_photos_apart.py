"""Photos opened in a process of their own; bombs cost the desk nothing."""

from __future__ import annotations

import io
import resource

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from rentals import photos_apart
from rentals.codes import code_link, make_code
from rentals.limited_process import ProcessLimits
from rentals.photos import PHOTO_BYTES, UnfitPhoto
from rentals.photos_apart import codes_in, small_photo_of

from .photos import SITE, printed_label, sent
from .test_photos import claims_to_be_huge

pytestmark = pytest.mark.any_database


def test_a_photo_comes_back_small_and_its_code_as_text():
    code = make_code("P", 14)
    label = printed_label(code)
    assert codes_in(sent(label, "PNG")) == (code_link(SITE, code),)
    exif = Image.Exif()
    exif[0x010F] = "Maker"
    jpeg = small_photo_of(sent(label, "JPEG", exif=exif, comment=b"at home"))
    assert Image.open(io.BytesIO(jpeg)).format == "JPEG"
    assert b"Maker" not in jpeg and b"at home" not in jpeg


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"\0" * (PHOTO_BYTES + 1), "up to 15 MiB"),
        (claims_to_be_huge(), "can be read|too many"),
        (sent(Image.new("L", (5000, 5000)), "PNG").read(), "5000 x 5000 pixels: too many"),
    ],
)
def test_what_claims_too_much_is_refused_before_it_is_unpacked(content, words):
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    for read in (small_photo_of, codes_in):
        with pytest.raises(UnfitPhoto, match=words):
            read(SimpleUploadedFile("photo.png", content, "image/png"))
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 60_000


def test_one_that_takes_too_much_is_refused_with_what_to_do(monkeypatch):
    picture = sent(Image.new("RGB", (4000, 4000)), "PNG")
    monkeypatch.setattr(photos_apart, "LIMITS", ProcessLimits(seconds=10, mib=32))
    own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with pytest.raises(UnfitPhoto, match=r"more time or memory.*again as JPEG"):
        small_photo_of(picture)
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - own < 20_000
