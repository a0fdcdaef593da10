"""Messages: what waits for approval, what went out, what failed."""

from __future__ import annotations

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.cache import patch_vary_headers
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_safe
from django_htmx.http import HttpResponseClientRefresh

from rentals.models import Attachment, Message, MessageBatch, Practice
from rentals.post.address import address_fault
from rentals.selectors.enclosures import content_of, trouble_with
from rentals.selectors.messages import (
    MOVING,
    batch_progress,
    batch_troubles,
    filter_choices,
    messages_listed,
)
from rentals.web.finding import page_of

State = Message.State


def _wants_fragment(request: HttpRequest) -> bool:
    return bool(request.htmx) and not request.htmx.history_restore_request


@require_safe
def message_list(request: HttpRequest) -> HttpResponse:
    """All messages, by state; the drafts among them can be approved together."""
    filters = {name: request.GET.get(name, "") for name in ("q", "state", "occasion", "run")}
    found = messages_listed(filters)
    context = {
        "page": page_of(request, found),
        "q": filters["q"],
        "filters": filters,
        "total": Message.objects.count(),
        "drafts": found.filter(state=State.DRAFT).count(),
        "choices": filter_choices(filters),
    }
    return render(request, "rentals/message/list.html", context)


@require_safe
def message(request: HttpRequest, pk: int) -> HttpResponse:
    """One message as it goes out, with what is attached and what became of it."""
    mail = get_object_or_404(
        Message.objects.select_related("loan__kit", "loan__enrolment__student", "batch"), pk=pk
    )
    moving = mail.state in MOVING and mail.next_try_at is None
    context = {"mail": mail, "moving": moving, "steps": mail.steps.all()}
    if _wants_fragment(request):
        # Polled while the mail is on its way; once it has come to rest the whole page says so.
        answer = (
            render(request, "rentals/message/_happened.html", context)
            if moving
            else HttpResponseClientRefresh()
        )
        patch_vary_headers(answer, ["HX-Request"])
        return answer
    attachments = list(mail.attachments.select_related("message"))
    changeable = mail.state in (State.DRAFT, State.FAILED)
    now = mail.loan.enrolment.student.email if mail.loan else ""
    context |= {
        "now_address": now if changeable and now not in ("", mail.to_address) else "",
        "attachments": attachments,
        "trouble": trouble_with(attachments) if mail.state == State.DRAFT else "",
        "fault": address_fault(mail.to_address) if changeable else "",
        "no_answers": mail.state == State.DRAFT and not Practice.current().email,
        "to_files": settings.KITDESK_MAIL_TO_FILES,
    }
    answer = render(request, "rentals/message/detail.html", context)
    patch_vary_headers(answer, ["HX-Request"])
    return answer


@require_safe
def batch(request: HttpRequest, pk: int) -> HttpResponse:
    """Mails that were approved together: how far they are, and which of them did not simply go."""
    kept = get_object_or_404(MessageBatch, pk=pk)
    progress = batch_progress(kept)
    context = {"batch": kept, "progress": progress, "page": page_of(request, batch_troubles(kept))}
    fragment = _wants_fragment(request)
    answer = render(
        request,
        "rentals/message/_batch.html" if fragment else "rentals/message/batch.html",
        context,
    )
    patch_vary_headers(answer, ["HX-Request"])
    return answer


@require_safe
def attachment(request: HttpRequest, pk: int) -> HttpResponse:
    """An attachment: the bytes that went out, or what would go out now."""
    kept = get_object_or_404(Attachment.objects.select_related("message"), pk=pk)
    try:
        content = content_of(kept)
    except (ValueError, LookupError) as problem:
        raise Http404(f"The paper cannot be printed: {problem}") from problem
    answer = HttpResponse(content, content_type=kept.content_type)
    answer["Content-Disposition"] = content_disposition_header(False, kept.file_name)
    answer["X-Content-Type-Options"] = "nosniff"
    return answer
