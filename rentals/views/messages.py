"""Messages: what waits for approval, what went out, what failed."""

from __future__ import annotations

from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_safe

from rentals.models import Attachment, Message

from .finding import page_of


def messages_listed(q: str = "", state: str = "") -> QuerySet[Message]:
    """Messages that fit the filter, newest first, without their long texts."""
    found = Message.objects.select_related("loan__kit").defer("body_text", "body_html")
    if state in Message.State:
        found = found.filter(state=state)
    q = q.strip()[:100]
    if q:
        found = found.filter(
            Q(subject__icontains=q)
            | Q(to_name__icontains=q)
            | Q(to_address__icontains=q)
            | Q(loan__kit__code__icontains=q.replace(" ", ""))
        )
    return found


@require_safe
def message_list(request: HttpRequest) -> HttpResponse:
    """All messages, by state."""
    q, state = request.GET.get("q", ""), request.GET.get("state", "")
    states = [("", "all"), *Message.State.choices]
    context = {
        "page": page_of(request, messages_listed(q, state)),
        "q": q,
        "total": Message.objects.count(),
        "choices": [
            {
                "name": "state",
                "label": "State",
                "options": [{"value": v, "label": words, "current": v == state} for v, words in states],
            }
        ],
    }
    return render(request, "rentals/message/list.html", context)


@require_safe
def message(request: HttpRequest, pk: int) -> HttpResponse:
    """One message as it goes out, with what is attached and what became of it."""
    mail = get_object_or_404(Message.objects.select_related("loan__kit", "loan__enrolment__student"), pk=pk)
    return render(
        request, "rentals/message/detail.html", {"mail": mail, "attachments": mail.attachments.defer("content")}
    )


@require_safe
def attachment(request: HttpRequest, pk: int) -> HttpResponse:
    """An attachment, as the bytes that go out."""
    kept = get_object_or_404(Attachment, pk=pk)
    answer = HttpResponse(bytes(kept.content), content_type=kept.content_type)
    answer["Content-Disposition"] = content_disposition_header(False, kept.file_name)
    answer["X-Content-Type-Options"] = "nosniff"
    return answer
