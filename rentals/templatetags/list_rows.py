"""Rows of the long lists: each is a drawing that is kept, with the words of its row put in."""

from __future__ import annotations

from typing import Any

from django import template
from django.template import Context
from django.utils.safestring import SafeString

from rentals.marks import Sign
from rentals.models import CourseRun
from rentals.selectors.kits import KitRow
from rentals.selectors.messages import MailRow
from rentals.selectors.packing import Parcel
from rentals.selectors.returns import OutRow
from rentals.selectors.run_strips import RunStrip
from rentals.selectors.runs import Holding
from rentals.selectors.scan import Match
from rentals.templatetags.desk import day, kit_code, state, student_link
from rentals.templatetags.kept_parts import (
    due_cell,
    due_in_words,
    kit_heading,
    run_strip,
    scores_cell,
    state_marks,
    tick_code,
    tick_person,
)
from rentals.web.filled import filled

register = template.Library()


@register.simple_tag
def parcel_row(row: Parcel) -> SafeString:
    """A parcel to pack or to dispatch."""
    loan: Any = row.loan
    enrolment = loan.enrolment
    texts = {
        "heading": kit_heading(loan.kit.code),
        "student": student_link(enrolment.student),
        "run": enrolment.run.name,
        "post_by": day(loan.post_by),
        "post_mark": state(row.post_mark) if row.post_mark else "",
        "mark": state(loan.mark),
        "kit_mark": state(row.kit_mark) if row.kit_mark else "",
        "ticked": f"{loan.ticked} of {loan.lines}" if loan.ticked else "not begun",
        "url": row.next.url,
        "act": row.next.act,
        "code": loan.kit.code,
    }
    return filled("rentals/pack/_parcel.html", texts)


@register.simple_tag
def out_row(row: OutRow) -> SafeString:
    """A loan that is away or waits for its check."""
    loan, enrolment = row.loan, row.loan.enrolment
    texts = {
        "kit": kit_code(loan.kit.code),
        "student": student_link(enrolment.student),
        "mark": state(row.mark),
        "run": enrolment.run.name,
        "due_on": day(loan.due_on),
        "url": row.next.url,
        "act": row.next.act,
        "code": loan.kit.code,
    }
    return filled("rentals/receive/_out.html", texts, away=row.away, partly_back=row.partly_back)


@register.simple_tag(takes_context=True)
def kit_row(context: Context, row: KitRow) -> SafeString:
    """A kit with its holder and its scores."""
    kit, holder = row.kit, row.holder
    texts: dict[str, object] = {
        "tick": tick_code(context, "chosen-kits", kit.code),
        "heading": kit_heading(kit.code),
        "marks": state_marks(row.marks),
        "hold_reason": kit.hold_reason,
    }
    if kit.scored_at:
        scores = (kit.score_continuity, kit.score_noise, kit.score_battery)
        texts["scores"] = scores_cell(*scores, row.all_pass)
    if holder:
        texts |= {"url": holder.url, "name": holder.name, "run": holder.run}
        texts["due"] = due_cell(holder.due_on, row.due)
    return filled(
        "rentals/kit/_row.html",
        texts,
        held=bool(kit.hold_reason),
        has_holder=bool(holder),
        scored=bool(kit.scored_at),
    )


@register.simple_tag(takes_context=True)
def enrolment_row(context: Context, row: Holding) -> SafeString:
    """A student of a run with the kit, as far as there is one."""
    student, loan = row.enrolment.student, row.loan
    texts: dict[str, object] = {
        "tick": tick_person(context, "chosen-loans", "enrolment", row.enrolment.pk, student.name),
        "student": student_link(student),
        "marks": state_marks(row.marks),
        "name": student.name,
    }
    if loan:
        texts["kit"] = kit_code(loan.kit.code, loan.kit.get_absolute_url())
        texts["due"] = due_in_words(loan.due_on, row.due)
    if row.next:
        texts |= {"url": row.next.url, "act": row.next.act}
    return filled("rentals/run/_row.html", texts, has_loan=bool(loan), has_next=bool(row.next))


@register.simple_tag
def run_row(run: CourseRun, phase: Sign, strip: RunStrip) -> SafeString:
    """A course run with how far it has come."""
    texts = {
        "url": run.get_absolute_url(),
        "name": run.name,
        "phase": state(phase),
        "starts_on": day(run.starts_on),
        "post_by": day(run.post_by),
        "return_by": day(run.return_by),
        "students": str(strip.students),
        "withdrawn": str(strip.withdrawn),
        "strip": run_strip(strip),
    }
    return filled("rentals/run/_line.html", texts, has_withdrawn=bool(strip.withdrawn))


@register.simple_tag
def mail_row(row: MailRow) -> SafeString:
    """A mail, with the box that ticks it where it is a draft."""
    mail = row.mail
    texts = {
        "number": str(mail.pk),
        "subject": mail.subject,
        "mark": state(mail.mark),
        "name": mail.to_name,
        "address": mail.to_address,
        "drafted": day(mail.drafted_at),
        "error": mail.last_error,
        "url": row.next.url,
        "act": row.next.act,
    }
    return filled(
        "rentals/message/_row.html", texts, draft=row.draft, has_error=bool(mail.last_error)
    )


@register.simple_tag
def match_row(match: Match) -> SafeString:
    """Something that a scanned text may mean."""
    texts = {
        "code": kit_code(match.code, match.page) if match.code else "",
        "what": match.what,
        "detail": match.detail,
        "url": match.url,
    }
    return filled("rentals/desk/_match.html", texts, has_detail=bool(match.detail))
