"""Setup of mail: the wording of each occasion with a preview on a real loan, and the rules for
reminders.
"""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_POST, require_safe

from rentals.actions.mail_setup import (
    add_usual_rules,
    drop_wording,
    remove_rule,
    save_rule,
    save_wording,
)
from rentals.errors import Refused
from rentals.forms.messages import RuleForm, WordingForm
from rentals.models import Loan, MailWording, Message, Practice, ReminderRule
from rentals.post.letter import html_body, wrapped
from rentals.post.values import loan_values
from rentals.post.wording import NAMES, Wording, check_wording, fill
from rentals.selectors.letters import loan_facts
from rentals.selectors.wordings import drafts_by_itself, wording_for
from rentals.web.acting import press_button
from rentals.web.form_page import ActPage, Affected, act_page, edit_page, form_page
from rentals.web.page_or_part import page_or_part
from rentals.web.request import DeskRequest, get_or_post, posted

LOANS_OFFERED = 20
Moment = ReminderRule.Moment


@require_safe
def wordings(request: DeskRequest) -> HttpResponse:
    """Every occasion with its subject, and whether it is drafted by itself."""
    own = {row.occasion: row for row in MailWording.objects.all()}
    rows = [
        {
            "occasion": value,
            "name": label,
            "subject": wording_for(value).subject,
            "own": value in own,
            "by_itself": drafts_by_itself(value),
        }
        for value, label in Message.Occasion.choices
    ]
    return render(request, "rentals/setup/wordings.html", {"rows": rows})


def _loans_offered() -> list[Loan]:
    loans = Loan.objects.select_related("kit", "enrolment__student", "enrolment__run")
    return list(loans.order_by("-assigned_at", "-pk")[:LOANS_OFFERED])


def _preview(wording: Wording, loan: Loan | None) -> dict[str, object]:
    """The mail as this loan's student would get it, or why it cannot be made."""
    if loan is None:
        return {}
    try:
        check_wording(wording)
    except Refused as refusal:
        return {"preview_fault": refusal.sentence}
    values = loan_values(loan_facts(loan), today=timezone.localdate())
    letter = fill(wording, values)
    return {
        "preview": letter,
        "preview_plain": wrapped(letter.text),
        # Built by html_body, which escapes every word that is put in.
        "preview_html": mark_safe(html_body(letter.text)),  # noqa: S308
    }


@get_or_post
def wording(request: DeskRequest, occasion: str) -> HttpResponse:
    """Change a wording; the preview follows while one types, and without a script at a press of its
    button.
    """
    if occasion not in Message.Occasion.values:
        raise Http404("There is no such mail.")
    form = WordingForm(posted(request), instance=_wording_row(occasion))
    page, part = "rentals/setup/wording.html", "rentals/setup/_wording_preview.html"
    if request.method == "POST" and "preview" in request.POST:
        context = {"form": form, **_wording_context(request, occasion)}
        return page_or_part(request, page, part, context)
    return form_page(
        request,
        form,
        page,
        act="keep a wording",
        do=lambda _: save_wording(form.instance),
        then=reverse("rentals:mail_wordings"),
        success="The wording is kept; mails drafted from now on use it.",
        context=lambda: _wording_context(request, occasion),
    )


def _wording_row(occasion: str) -> MailWording:
    """The practice's own wording of an occasion, or a new row that begins with the usual one."""
    usual = wording_for(occasion)
    return MailWording.objects.filter(occasion=occasion).first() or MailWording(
        occasion=occasion,
        subject=usual.subject,
        text=usual.text,
        drafted_by_itself=drafts_by_itself(occasion),
    )


def _wording_context(request: DeskRequest, occasion: str) -> dict[str, Any]:
    loans = _loans_offered()
    chosen = request.POST.get("loan") or request.GET.get("loan") or ""
    newest = loans[0] if loans else None
    loan = next((loan for loan in loans if str(loan.pk) == chosen), newest)
    stored = wording_for(occasion)
    typed = Wording(
        request.POST.get("subject", stored.subject), request.POST.get("text", stored.text)
    )
    return {
        "occasion": occasion,
        "title": Message.Occasion(occasion).label,
        "own": MailWording.objects.filter(occasion=occasion).exists(),
        "loans": loans,
        "loan": loan,
        "names": NAMES,
        **_preview(typed, loan),
    }


@get_or_post
def usual(request: DeskRequest, occasion: str) -> HttpResponse:
    """Back to the wording Kitdesk came with."""
    if occasion not in Message.Occasion.values:
        raise Http404("There is no such mail.")
    own = wording_for(occasion)
    page = ActPage(
        f"The usual wording for “{Message.Occasion(occasion).label}”",
        submit="Use the usual wording",
        effects=("Mails that are drafted already keep their words.",),
        affected=(Affected("Your own wording is thrown away", (own.subject, own.text)),),
        danger=True,
    )
    home = reverse("rentals:mail_wording", args=[occasion])
    return act_page(request, page, lambda _: drop_wording(occasion), home=home)


@require_safe
def reminders(request: DeskRequest) -> HttpResponse:
    """All rules."""
    # In the order of a loan's life; within it by days.
    lives = [Moment.AFTER_DISPATCH, Moment.BEFORE_DUE, Moment.AFTER_DUE]
    rules = sorted(
        ReminderRule.objects.all()[:100], key=lambda rule: lives.index(Moment(rule.moment))
    )
    context = {"rules": rules, "practice": Practice.current()}
    return render(request, "rentals/setup/reminders.html", context)


def _edit_rule(request: DeskRequest, rule: ReminderRule, title: str) -> HttpResponse:
    form = RuleForm(posted(request), instance=rule)
    home = reverse("rentals:reminders")
    return edit_page(
        request,
        form,
        title=title,
        home=home,
        act="keep a reminder rule",
        do=lambda _: save_rule(form.instance),
        then=home,
    )


@get_or_post
def rule_new(request: DeskRequest) -> HttpResponse:
    """A further rule."""
    return _edit_rule(request, ReminderRule(days=7, moment=Moment.BEFORE_DUE), "New reminder")


@get_or_post
def rule_edit(request: DeskRequest, pk: int) -> HttpResponse:
    """Change a rule."""
    return _edit_rule(request, get_object_or_404(ReminderRule, pk=pk), "Reminder")


@get_or_post
def rule_remove(request: DeskRequest, pk: int) -> HttpResponse:
    """Take a rule away."""
    rule = get_object_or_404(ReminderRule, pk=pk)
    page = ActPage(
        f"Remove the reminder {rule}",
        submit="Remove",
        effects=("Mails it has drafted stay; it drafts no more.",),
        undo="The same reminder can be made anew.",
    )
    home = reverse("rentals:reminders")
    return act_page(request, page, lambda _: remove_rule(rule), home=home)


@require_POST
def rules_usual(request: DeskRequest) -> HttpResponse:
    """Begin with the usual four."""
    home = reverse("rentals:reminders")
    return press_button(request, "add the usual reminders", add_usual_rules, home=home)
