"""How a scan went, for the browser's sound and vibration; the words are on the page."""

from __future__ import annotations

from django.http import HttpResponse

SCAN_HEADER = "Kitdesk-Scan"


def scan_answer(answer: HttpResponse, *, accepted: bool) -> HttpResponse:
    """The answer to a scan, marked as accepted or refused; unmarked it counts by its status."""
    answer[SCAN_HEADER] = "accepted" if accepted else "refused"
    return answer
