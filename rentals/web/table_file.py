"""A list as a file to download."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain

from django.http import Http404, StreamingHttpResponse

from rentals.selectors.export import ExportFormat


def format_or_404(form: str) -> ExportFormat:
    """The format that an address names."""
    if form not in list(ExportFormat):
        raise Http404(f"No table as {form}.")
    return ExportFormat(form)


def file_answer(name: str, form: ExportFormat, pieces: Iterator[bytes]) -> StreamingHttpResponse:
    """The file as an answer, sent as its pieces come.

    The first one is made before the answer begins: what fails by then is still a page.
    """
    first = next(pieces, b"")
    answer = StreamingHttpResponse(chain([first], pieces), content_type=form.content_type)
    answer["Content-Disposition"] = f'attachment; filename="{name}.{form}"'
    return answer
