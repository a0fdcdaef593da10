"""Bodies of requests, read only as far as their operation allows."""

from __future__ import annotations

from django.core.files.base import ContentFile, File
from django.http import HttpRequest

from .problems import DoorProblem

MIB = 1024 * 1024


def declared_size(request: HttpRequest, most: int) -> None:
    """Refuse a body by what its head says, before a byte of it is read.

    Raises
    ------
    DoorProblem
        If it says more than `most` bytes.
    """
    length = request.headers.get("Content-Length") or "0"
    if length.isdigit() and int(length) > most:
        raise _too_large(most)


def body_of(request: HttpRequest, most: int) -> bytes:
    """The bytes of a body; `DoorProblem` where they are more than `most`."""
    declared_size(request, most)
    data: bytes = request.read(most + 1)
    if len(data) > most:
        raise _too_large(most)
    return data


def files_of(request: HttpRequest, name: str, most: int) -> list[File]:
    """The files of a form (multipart), or the body itself as one of that name.

    Raises
    ------
    DoorProblem
        If they are too large, or the body is of another kind.
    """
    kind = (request.content_type or "").lower()
    if kind == "multipart/form-data":
        declared_size(request, most)
        return [file for _, files in request.FILES.lists() for file in files]
    if kind in ("", "application/octet-stream", "text/csv", "text/plain"):
        return [ContentFile(body_of(request, most), name)]
    raise DoorProblem(
        415,
        "Send the file as the body, with Content-Type: application/octet-stream, or as a form"
        " (multipart/form-data).",
        pointer="/header/Content-Type",
    )


def _too_large(most: int) -> DoorProblem:
    return DoorProblem(413, f"The body is larger than {most // MIB} MiB. Send less at once.")
