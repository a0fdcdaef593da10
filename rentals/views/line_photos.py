"""Photos of damage: shown to people who are signed in, added to a shortfall, removed."""

from __future__ import annotations

from django.http import FileResponse, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from rentals.actions.line_photos import remove_photo
from rentals.dates import short_moment
from rentals.models import LinePhoto, PackingLine, Shortfall
from rentals.web.form_page import ActPage, act_page
from rentals.web.request import DeskRequest, get_or_post
from rentals.web.stored_files import stored_file


def _photo(pk: int) -> LinePhoto:
    return get_object_or_404(LinePhoto.objects.select_related("packing_line__loan__kit"), pk=pk)


@require_safe
def photo(request: DeskRequest, pk: int) -> FileResponse:
    """The picture itself. No cache on the way may keep it."""
    row = _photo(pk)
    answer = stored_file(row.file, content_type="image/jpeg")
    answer["Content-Disposition"] = f'inline; filename="photo-{row.pk}.jpg"'
    answer["X-Content-Type-Options"] = "nosniff"
    return answer


@get_or_post
def photo_remove(request: DeskRequest, pk: int) -> HttpResponse:
    """Says what is lost, then removes it."""
    row = _photo(pk)
    packed = row.packing_line
    home = _home(packed)
    page = ActPage(
        f"Remove a photo of {packed.name}",
        submit="Remove",
        effects=(
            f"The photo of {short_moment(timezone.localtime(row.at))} is gone for good.",
            "That there was one stays in the history of the kit.",
        ),
        danger=True,
    )
    return act_page(request, page, lambda _: remove_photo(row, actor=request.user), home=home)


def _home(packed: PackingLine) -> str:
    """Where the photos of a line are worked on: its shortfall, the check under way, or its loan."""
    short = Shortfall.objects.filter(packing_line=packed).first()
    if short is not None:
        return reverse("rentals:shortfall", args=[short.pk])
    if packed.loan.is_open:
        return reverse("rentals:receive_kit", args=[packed.loan.kit.code])
    return packed.loan.get_absolute_url()
