"""Setup of mail: the wording of each occasion with a preview on a real loan, and the rules for
reminders.
"""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.cache import patch_vary_headers
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
from rentals.selectors.wordings import drafts_by_itself, wording_for
from rentals.web.acting import carry_out

from .kit_acts import ActPage, act_page, get_or_post

LOANS_OFFERED = 20
Moment = ReminderRule.Moment


@require_safe
def wordings(request: HttpRequest) -> HttpResponse:
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


def _offered() -> list[Loan]:
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
    said = fill(wording, loan_values(loan))
    return {
        "preview": said,
        "preview_plain": wrapped(said.text),
        # Built by html_body, which escapes every word that is put in.
        "preview_html": mark_safe(html_body(said.text)),  # noqa: S308
    }


@get_or_post
def wording(request: HttpRequest, occasion: str) -> HttpResponse:
    """Change a wording; the preview follows while one types, and without a script at a press of its
    button.
    """
    if occasion not in Message.Occasion.values:
        raise Http404("There is no such mail.")
    start = wording_for(occasion)
    instance = MailWording.objects.filter(occasion=occasion).first() or MailWording(
        occasion=occasion,
        subject=start.subject,
        text=start.text,
        drafted_by_itself=drafts_by_itself(occasion),
    )
    own = instance.pk is not None
    form = WordingForm(request.POST or None, instance=instance)
    loans = _offered()
    wanted = request.POST.get("loan") or request.GET.get("loan") or ""
    loan = next((one for one in loans if str(one.pk) == wanted), loans[0] if loans else None)
    context = {
        "form": form,
        "occasion": occasion,
        "own": own,
        "loans": loans,
        "loan": loan,
        "names": NAMES,
    }
    context["title"] = Message.Occasion(occasion).label
    typed = Wording(
        request.POST.get("subject", start.subject), request.POST.get("text", start.text)
    )
    if request.method == "POST" and "preview" in request.POST:
        context |= _preview(typed, loan)
        page = (
            "rentals/setup/_wording_preview.html" if request.htmx else "rentals/setup/wording.html"
        )
        answer = render(request, page, context)
        patch_vary_headers(answer, ["HX-Request"])
        return answer
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            save_wording(form.instance)
            messages.success(request, "The wording is kept; mails drafted from now on use it.")
            return reverse("rentals:mail_wordings")

        answer = carry_out(request, "keep a wording", do, form=form)
        if answer is not None:
            return answer
    context |= _preview(typed, loan)
    return render(
        request,
        "rentals/setup/wording.html",
        context,
        status=422 if request.method == "POST" else 200,
    )


@get_or_post
def usual(request: HttpRequest, occasion: str) -> HttpResponse:
    """Back to the wording Kitdesk came with."""
    if occasion not in Message.Occasion.values:
        raise Http404("There is no such mail.")
    page = ActPage(
        f"The usual wording for “{Message.Occasion(occasion).label}”",
        "Use the usual wording",
        ("Your own wording is thrown away.", "Mails that are drafted already keep their words."),
        danger=True,
    )
    home = reverse("rentals:mail_wording", args=[occasion])
    return act_page(request, page, lambda data: drop_wording(occasion), home=home)


@require_safe
def reminders(request: HttpRequest) -> HttpResponse:
    """All rules."""
    # In the order of a loan's life; within it by days.
    lives = [Moment.AFTER_DISPATCH, Moment.BEFORE_DUE, Moment.AFTER_DUE]
    rules = sorted(
        ReminderRule.objects.all()[:100], key=lambda rule: lives.index(Moment(rule.moment))
    )
    context = {"rules": rules, "practice": Practice.current()}
    return render(request, "rentals/setup/reminders.html", context)


def _rule(request: HttpRequest, rule: ReminderRule, title: str) -> HttpResponse:
    form: forms.BaseForm = RuleForm(request.POST or None, instance=rule)
    home = reverse("rentals:reminders")
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            save_rule(form.instance)
            return home

        answer = carry_out(request, "keep a reminder rule", do, form=form)
        if answer is not None:
            return answer
    context = {"form": form, "title": title, "home": home}
    return render(
        request, "rentals/setup/edit.html", context, status=422 if request.method == "POST" else 200
    )


@get_or_post
def rule_new(request: HttpRequest) -> HttpResponse:
    """A further rule."""
    return _rule(
        request, ReminderRule(days=7, moment=ReminderRule.Moment.BEFORE_DUE), "New reminder"
    )


@get_or_post
def rule_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a rule."""
    return _rule(request, get_object_or_404(ReminderRule, pk=pk), "Reminder")


@get_or_post
def rule_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a rule away."""
    rule = get_object_or_404(ReminderRule, pk=pk)
    page = ActPage(
        f"Remove the reminder {rule}", "Remove", ("Mails it has drafted stay.",), danger=True
    )
    return act_page(
        request, page, lambda data: remove_rule(rule), home=reverse("rentals:reminders")
    )


@require_POST
def rules_usual(request: HttpRequest) -> HttpResponse:
    """Begin with the usual four."""

    def do() -> str:
        add_usual_rules()
        return reverse("rentals:reminders")

    return carry_out(request, "add the usual reminders", do) or HttpResponseRedirect(
        reverse("rentals:reminders")
    )
