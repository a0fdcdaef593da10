"""A photo in place of a scan: its one code is taken as if it had been typed; of several one is
picked.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpResponse
from django.urls import reverse

from rentals.photos import UnfitPhoto
from rentals.photos_apart import codes_in

from .page_or_part import go_to
from .request import DeskRequest
from .scan_outcome import scan_answer

#: What the box and the file of a scan are called in every form.
SCAN, PHOTO = "scan", "photo"
MOST_CODES = 12


def takes_photo(home: str) -> Callable[[Callable[..., HttpResponse]], Callable[..., HttpResponse]]:
    """Decorate the view of a scan: where a photo was sent and nothing was typed, the code in it is
    scanned. `home` is the page of the same thing, where it is said that none could be read.
    """

    def decorate(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
        @functools.wraps(view)
        def typed_or_photo(request: DeskRequest, **place: Any) -> HttpResponse:
            photo = request.FILES.get(PHOTO)
            if not photo or request.POST.get(SCAN, "").strip():
                return view(request, **place)
            try:
                codes = codes_in(photo)
            except UnfitPhoto as unfit:
                messages.error(request, str(unfit))
                return scan_answer(go_to(request, reverse(home, kwargs=place)), accepted=False)
            if len(codes) > 1:
                return scan_answer(go_to(request, pick_address(codes, request.path)), accepted=True)
            sent = request.POST.copy()
            sent[SCAN] = codes[0]
            request.POST = sent  # type: ignore[assignment]  # any may be put there
            return view(request, **place)

        return typed_or_photo

    return decorate


def pick_address(codes: tuple[str, ...], to: str = "") -> str:
    """Where one of several codes is picked; it is then scanned at `to`, or in the box on top."""
    about = {"to": to, "code": codes[:MOST_CODES]} if to else {"code": codes[:MOST_CODES]}
    return f"{reverse('rentals:pick_code')}?{urlencode(about, doseq=True)}"
