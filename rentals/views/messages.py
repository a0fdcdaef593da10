"""Messages: what waits for approval, what went out, what failed."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_safe
from django_htmx.http import HttpResponseClientRefresh

from rentals.models import Attachment, Message, MessageBatch, Practice
from rentals.next_acts import may_change
from rentals.post.address import address_fault
from rentals.post.languages import why_language
from rentals.selectors.enclosures import content_of, trouble_with
from rentals.selectors.messages import (
    are_there_drafts,
    batch_progress,
    batch_troubles,
    drafts_among,
    mail_page,
    mail_row,
    mails_of_rows,
    messages_listed,
    runs_offered,
    with_way,
)
from rentals.states import MOVING_MAILS
from rentals.web.filters import FilterChoice, list_filter
from rentals.web.finding import page_of
from rentals.web.list_pages import all_numbers_found
from rentals.web.page_or_part import page_or_part, vary_by_htmx, wants_part
from rentals.web.request import DeskRequest
from rentals.web.sorting import SortKey, list_order, sort_choice

State = Message.State


MESSAGE_KEYS = (
    SortKey("drafted", "Drafted", ("drafted_at",), latest_first=True),
    SortKey("subject", "Subject", ("subject",)),
    SortKey("to", "To", ("to_name", "to_address")),
    SortKey("state", "State", ("life",)),
)


@require_safe
def message_list(request: DeskRequest) -> HttpResponse:
    """Messages, at first those that wait; the drafts among them can be approved together."""
    choices = (*_choices(), sort_choice(MESSAGE_KEYS))
    wanted = list_filter(request, *choices, usual=_where_work_waits())
    mails, order = messages_listed(wanted.values), list_order(request, MESSAGE_KEYS)
    sorted_mails = order.applied(with_way(mails, order.chosen.fields))
    page = page_of(request, sorted_mails, rows_of=mails_of_rows)
    context = {
        "page": page,
        "rows": [mail_row(mail) for mail in page],
        "filters": wanted.values,
        "total": Message.objects.count(),
        "drafts": drafts_among(mails, wanted.values, page.paginator.count, all_numbers_found(page)),
        **wanted.context(),
    }
    return render(request, "rentals/message/list.html", context)


def _where_work_waits() -> dict[str, str]:
    """The drafts, as long as there are any: they wait to be read."""
    return {"state": State.DRAFT} if are_there_drafts() else {}


def _choices() -> list[FilterChoice]:
    return [
        FilterChoice("state", "State", [("", "all"), *State.choices]),
        FilterChoice("occasion", "About", [("", "all"), *Message.Occasion.choices]),
        FilterChoice("run", "Run", [("", "all"), *runs_offered()]),
    ]


@require_safe
def message(request: DeskRequest, pk: int) -> HttpResponse:
    """One message as it goes out, with what is attached and what became of it."""
    mails = Message.objects.select_related("loan__kit", "loan__enrolment__student", "batch")
    mail = get_object_or_404(mails, pk=pk)
    moving = mail.state in MOVING_MAILS and mail.next_try_at is None
    context = {"mail": mail, "moving": moving, "steps": mail.steps.all()}
    if wants_part(request) and not moving:
        # Polled while the mail was on its way; now that it has come to rest the whole page says so.
        return vary_by_htmx(HttpResponseClientRefresh())
    if not wants_part(request):
        context |= _letter(mail)
    page, part = "rentals/message/detail.html", "rentals/message/_happened.html"
    return page_or_part(request, page, part, context)


def _letter(mail: Message) -> dict[str, Any]:
    """What the whole page shows of a mail beyond what happened to it."""
    attachments = list(mail.attachments.select_related("message"))
    changeable = may_change(State(mail.state))
    fault = address_fault(mail.to_address) if changeable else ""
    address_now = mail.loan.enrolment.student.email if mail.loan else ""
    moved = changeable and address_now not in ("", mail.to_address)
    acts = mail_page(mail, fault=fault)
    return {
        "now_address": address_now if moved else "",
        "language": _language_of(mail),
        "attachments": attachments,
        "trouble": trouble_with(attachments) if acts.draft else "",
        "fault": fault,
        "acts": acts,
        "no_answers": acts.draft and not Practice.current().email,
        "to_files": settings.KITDESK_MAIL_TO_FILES,
    }


def _language_of(mail: Message) -> str:
    """Which language the mail is in and why, in a sentence; empty where that is not known."""
    if not (mail.language and mail.loan):
        return ""
    return why_language(mail.language, mail.loan.enrolment.student.language)


@require_safe
def batch(request: DeskRequest, pk: int) -> HttpResponse:
    """Mails that were approved together: how far they are, and which of them did not simply go."""
    batch = get_object_or_404(MessageBatch, pk=pk)
    context = {
        "batch": batch,
        "progress": batch_progress(batch),
        "page": page_of(request, batch_troubles(batch)),
    }
    page, part = "rentals/message/batch.html", "rentals/message/_batch.html"
    return page_or_part(request, page, part, context)


@require_safe
def attachment(request: DeskRequest, pk: int) -> HttpResponse:
    """An attachment: the bytes that went out, or what would go out now."""
    attachment = get_object_or_404(Attachment.objects.select_related("message"), pk=pk)
    try:
        content = content_of(attachment)
    except (ValueError, LookupError) as problem:
        raise Http404(f"The paper cannot be printed: {problem}") from problem
    answer = HttpResponse(content, content_type=attachment.content_type)
    disposition = content_disposition_header(False, attachment.file_name)
    answer["Content-Disposition"] = str(disposition)
    answer["X-Content-Type-Options"] = "nosniff"
    return answer
