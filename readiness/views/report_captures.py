"""Captures that came with a fault report, for the instructor."""

from __future__ import annotations

from django.http import FileResponse, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from readiness.models import StudentCapture
from readiness.selectors.student_captures import instructor_rows
from rentals.models import FaultReport
from rentals.web.page_or_part import page_or_part
from rentals.web.request import DeskRequest
from rentals.web.stored_files import stored_file

_PAGE, _PART = "readiness/report_captures.html", "readiness/_report_captures.html"


@require_safe
def report_captures(request: DeskRequest, pk: int) -> HttpResponse:
    """What the bench says of them, and what the student was told."""
    report = get_object_or_404(FaultReport.objects.select_related("visit"), pk=pk)
    context = {"report": report, "rows": instructor_rows(report)}
    return page_or_part(request, _PAGE, _PART, context)


@require_safe
def report_capture_file(request: DeskRequest, pk: int) -> FileResponse:
    """The file as it came, always as a download."""
    capture = get_object_or_404(StudentCapture, pk=pk)
    return stored_file(
        capture.file,
        as_attachment=True,
        filename=capture.name,
        content_type="application/octet-stream",
    )
