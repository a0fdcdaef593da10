"""Setup of mail: the rules for reminders."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from rentals.actions.mail_setup import add_usual_rules, remove_rule, save_rule
from rentals.forms.messages import RuleForm
from rentals.models import Practice, ReminderRule
from rentals.web.acting import press_button
from rentals.web.form_page import ActPage, act_page, edit_page
from rentals.web.request import DeskRequest, get_or_post, posted

Moment = ReminderRule.Moment


@require_safe
def reminders(request: DeskRequest) -> HttpResponse:
    """All rules."""
    # In the order of a loan's life; within it by days.
    lives = [
        Moment.AFTER_DISPATCH,
        Moment.BEFORE_RECHARGE,
        Moment.BEFORE_DUE,
        Moment.AFTER_DUE,
    ]
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
