"""Handing out a stored file; one that has gone from the disk is said in a sentence."""

from __future__ import annotations

from typing import Any

from django.db.models.fields.files import FieldFile
from django.http import FileResponse, Http404


class FileGone(Http404):
    """The row is there, its file is not. The page says the sentence."""

    sentence = (
        "The file that belongs here is gone from the desk's folder of files. Put it back from a"
        " backup; all else that is known of it is still here."
    )


def stored_file(file: FieldFile, **facts: Any) -> FileResponse:
    """The file as an answer; `facts` are those of FileResponse. Raises FileGone."""
    try:
        return FileResponse(file.open("rb"), **facts)
    except FileNotFoundError:
        raise FileGone(FileGone.sentence) from None
