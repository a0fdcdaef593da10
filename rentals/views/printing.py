"""What every view that prints shares: the PDF as an answer, and the address in its QR codes."""

from __future__ import annotations

from dataclasses import replace

from django.http import HttpResponse

from rentals.codes import reachable
from rentals.models import Practice
from rentals.paper.facts import PracticeFacts, Printed
from rentals.selectors.paper_facts.practice import practice_facts
from rentals.web.request import DeskRequest


def pdf_answer(printed: Printed, name: str, *, as_file: bool = False) -> HttpResponse:
    """A PDF that opens in the browser under a plain name, or beside the page `as_file`; how many
    texts no font can draw stands in a header.
    """
    answer = HttpResponse(printed.pdf, content_type="application/pdf")
    place = "attachment" if as_file else "inline"
    answer["Content-Disposition"] = f'{place}; filename="{name}.pdf"'
    if printed.unprintable:
        answer["X-Unprintable"] = str(len(printed.unprintable))
    if printed.borrowed:
        answer["X-Borrowed"] = str(len(printed.borrowed))
    return answer


def site_address(request: DeskRequest, practice: Practice) -> str:
    """The desk's address: the practice's own, else the one this page was asked under."""
    return practice.site_url.rstrip("/") or request.build_absolute_uri("/").rstrip("/")


def printed_address(request: DeskRequest, practice: Practice) -> str:
    """The address that QR codes carry; empty where only this machine could open it."""
    return reachable(site_address(request, practice))


def sender_facts(request: DeskRequest) -> PracticeFacts:
    """The practice as the paper knows it, with the address that QR codes carry."""
    practice = Practice.current()
    return replace(practice_facts(practice), site_url=printed_address(request, practice))
