"""Photos from outside, opened in a process of their own (`rentals.limited_process`)."""

from __future__ import annotations

from typing import Any, Protocol

from .limited_process import NotOpened, ProcessLimits, run_limited
from .photos import UnfitPhoto, check_photo_size, codes_in_photo, small_photo

LIMITS = ProcessLimits(seconds=10, mib=640)
_ADVICE = "Take the photo again as JPEG."


class SentFile(Protocol):
    """A file as it was sent."""

    @property
    def size(self) -> int | None: ...

    def read(self, size: int = ..., /) -> bytes: ...


def small_photo_of(sent: SentFile) -> bytes:
    """The photo as `rentals.photos.small_photo` gives it.

    Raises
    ------
    UnfitPhoto
        If the file is too large, has too many pixels, takes too much to open, or is no photo.
    """
    return _answer(shrink, sent)[1]


def codes_in(sent: SentFile) -> tuple[str, ...]:
    """The codes in a photo, as `rentals.photos.codes_in_photo` gives them.

    Raises
    ------
    UnfitPhoto
        As above, or if no code in it can be read.
    """
    facts, _ = _answer(read_codes, sent)
    return tuple(map(str, facts["codes"]))


def _answer(function: Any, sent: SentFile) -> tuple[dict[str, Any], bytes]:
    check_photo_size(sent.size or 0)
    try:
        facts, data = run_limited(function, {}, sent.read(), LIMITS)
    except NotOpened as not_opened:
        raise UnfitPhoto(not_opened.words(_ADVICE)) from not_opened
    if "refusal" in facts:
        raise UnfitPhoto(str(facts["refusal"]))
    return facts, data


# In the other process ------------------------------------------------------
def shrink(_: dict[str, Any], content: bytes) -> tuple[dict[str, Any], bytes]:
    """The small JPEG, or why there is none."""
    try:
        return {}, small_photo(content)
    except UnfitPhoto as unfit:
        return {"refusal": str(unfit)}, b""


def read_codes(_: dict[str, Any], content: bytes) -> tuple[dict[str, Any], bytes]:
    """The codes, or why there are none."""
    try:
        return {"codes": codes_in_photo(content)}, b""
    except UnfitPhoto as unfit:
        return {"refusal": str(unfit)}, b""
