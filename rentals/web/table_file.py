"""A list as a file to download, at once or, where it is long, made in the background."""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import chain
from typing import Any

from django.http import Http404, HttpResponseBase, StreamingHttpResponse

from rentals.actions.errands import ErrandAsked
from rentals.counts import counted
from rentals.models import ErrandKind
from rentals.selectors.export import ExportFormat

from .asking import asking_page
from .form_page import ActPage
from .request import DeskRequest, get_or_post

#: So many rows are sent while somebody waits: a second of a core at most.
SENT_AT_ONCE = 2000


@dataclass(frozen=True)
class TableFile:
    """A list as a file: its name without an ending, how many rows it has, its pieces, and the page
    that it is asked for on.
    """

    name: str
    form: ExportFormat
    rows: int
    pieces: Iterator[bytes]
    home: str

    @property
    def file_name(self) -> str:
        return f"{self.name}.{self.form}"


#: Makes the file that a request asks for, or says where to go instead.
TableMaker = Callable[..., TableFile | HttpResponseBase]


def format_or_404(form: str) -> ExportFormat:
    """The format that an address names."""
    if form not in list(ExportFormat):
        raise Http404(f"No table as {form}.")
    return ExportFormat(form)


def sent_as_file(make: TableMaker) -> Callable[..., HttpResponseBase]:
    """Make a view of a function that makes a `TableFile`: the file, or the page that asks for a
    long one. `table_of` finds the function again.
    """

    @get_or_post
    @functools.wraps(make)
    def view(request: DeskRequest, **place: Any) -> HttpResponseBase:
        made = make(request, **place)
        if not isinstance(made, TableFile):
            return made
        return file_answer(made) if made.rows <= SENT_AT_ONCE else _asking(request, made)

    vars(view)["makes"] = make
    return view


def table_of(view: Callable[..., Any], request: DeskRequest, **place: Any) -> TableFile | None:
    """The file that a view would send for this request; None where it would send none."""
    made = vars(view)["makes"](request, **place)
    return made if isinstance(made, TableFile) else None


def file_answer(table: TableFile) -> StreamingHttpResponse:
    """The file as an answer, sent as its pieces come.

    The first one is made before the answer begins: what fails by then is still a page.
    """
    first = next(table.pieces, b"")
    pieces = chain([first], table.pieces)
    answer = StreamingHttpResponse(pieces, content_type=table.form.content_type)
    answer["Content-Disposition"] = f'attachment; filename="{table.file_name}"'
    return answer


def _asking(request: DeskRequest, table: TableFile) -> HttpResponseBase:
    rows = counted(table.rows, "row", "rows")
    page = ActPage(
        f"{table.file_name}: {rows}",
        submit="Make the file",
        effects=(
            f"One file with {rows}, made in the background.",
            "You can leave the page meanwhile, and fetch the file when it is there.",
        ),
    )
    asked = ErrandAsked(
        ErrandKind.EXPORT,
        f"{table.file_name}, {rows}",
        about=table.home,
        seen_by=request.path,
        facts={"address": request.get_full_path()},
    )
    return asking_page(request, page, asked)
