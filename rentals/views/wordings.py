"""The wording of each mail in each language, with a preview on a real loan."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from rentals.actions.mail_setup import drop_wording, save_wording
from rentals.catalogues import languages_at_hand, worded_as
from rentals.forms.messages import WordingForm, WordingLanguageForm
from rentals.languages import USUAL_LANGUAGE, language_code, language_name
from rentals.models import MailWording, Message, Practice
from rentals.post.phrases import PHRASE_NAMES, PHRASES
from rentals.post.wording import NAMES
from rentals.selectors.wordings import Wordings, usual_words, wordings_of, wordings_written
from rentals.web.form_page import ActPage, Affected, act_page, form_page
from rentals.web.page_or_part import page_or_part
from rentals.web.request import DeskRequest, get_or_post, posted

from .wording_preview import loans_offered, wording_preview


def _title(occasion: str) -> str:
    if occasion in PHRASES:
        return PHRASES[occasion]
    if occasion not in Message.Occasion.values:
        raise Http404("There is no such mail.")
    return str(Message.Occasion(occasion).label)


def _language(code: str) -> str:
    if language_code(code) != code:
        raise Http404("There is no such language.")
    return code


@require_safe
def wordings(request: DeskRequest) -> HttpResponse:
    """Every occasion with its subject, whether it is drafted by itself, and its languages."""
    rows = [_row(written) for written in wordings_written().values()]
    language = Practice.current().mail_language
    context = {
        "mails": [row for row in rows if row["occasion"] not in PHRASES],
        "phrases": [row for row in rows if row["occasion"] in PHRASES],
        "practice_language": "" if language == USUAL_LANGUAGE else language_name(language),
    }
    return render(request, "rentals/setup/wordings.html", context)


def _row(written: Wordings) -> dict[str, Any]:
    codes = {*written.languages, *languages_at_hand()} - {USUAL_LANGUAGE}
    others = sorted(codes, key=language_name)
    usual = written.wording(USUAL_LANGUAGE)
    return {
        "occasion": written.occasion,
        "name": _title(written.occasion),
        "subject": usual.subject or " ".join(usual.text.split()),
        "own": written.own(USUAL_LANGUAGE) is not None,
        "by_itself": written.by_itself,
        "others": [
            {"code": code, "name": language_name(code), "own": code in written.languages}
            for code in others
        ],
    }


@require_safe
def in_language(request: DeskRequest, occasion: str) -> HttpResponse:
    """From the choice of a language to the page of its wording."""
    _title(occasion)
    form = WordingLanguageForm(request.GET)
    if not (form.is_valid() and form.cleaned_data["language"]):
        return HttpResponseRedirect(reverse("rentals:mail_wording", args=[occasion]))
    address = [occasion, form.cleaned_data["language"]]
    return HttpResponseRedirect(reverse("rentals:mail_wording_in", args=address))


@get_or_post
def wording(request: DeskRequest, occasion: str, language: str = USUAL_LANGUAGE) -> HttpResponse:
    """Change a wording, or begin it in another language with a copy of the usual one; the preview
    follows while one types, and without a script at a press of its button.
    """
    _title(occasion)
    written = wordings_of(occasion)
    form = WordingForm(posted(request), instance=_wording_row(written, _language(language)))
    page, part = "rentals/setup/wording.html", "rentals/setup/_wording_preview.html"
    if request.method == "POST" and "preview" in request.POST:
        context = {"form": form, **_wording_context(request, written, language)}
        return page_or_part(request, page, part, context)
    return form_page(
        request,
        form,
        page,
        act="keep a wording",
        do=lambda _: save_wording(form.instance),
        then=reverse("rentals:mail_wordings"),
        success="The wording is kept; mails drafted from now on use it.",
        context=lambda: _wording_context(request, written, language),
    )


def _wording_row(written: Wordings, language: str) -> MailWording:
    """The practice's own wording, or a new row that begins with a copy: of what Kitdesk came with
    in that language, else of the wording in the usual language.
    """
    to_copy = written.wording(language if worded_as(language) else USUAL_LANGUAGE)
    return written.own(language) or MailWording(
        occasion=written.occasion,
        language=language,
        subject=to_copy.subject,
        text=to_copy.text,
        drafted_by_itself=written.by_itself,
    )


def _wording_context(request: DeskRequest, written: Wordings, language: str) -> dict[str, Any]:
    loans = loans_offered()
    chosen = request.POST.get("loan") or request.GET.get("loan") or ""
    newest = loans[0] if loans else None
    loan = next((loan for loan in loans if str(loan.pk) == chosen), newest)
    stored = _wording_row(written, language)
    typed = MailWording(
        occasion=written.occasion,
        language=language,
        subject=request.POST.get("subject", stored.subject),
        text=request.POST.get("text", stored.text),
    )
    codes = {language, *written.languages, *languages_at_hand()}
    languages = sorted(codes, key=language_name)
    return {
        "occasion": written.occasion,
        "title": _title(written.occasion),
        "language": language,
        "language_name": language_name(language),
        "usual_language": language == USUAL_LANGUAGE,
        "has_usual": bool(worded_as(language)),
        "languages": [{"code": code, "name": language_name(code)} for code in languages],
        "language_form": WordingLanguageForm(),
        "own": written.own(language) is not None,
        "loans": loans,
        "loan": loan,
        "names": PHRASE_NAMES if written.occasion in PHRASES else NAMES,
        **wording_preview(typed, loan),
    }


@get_or_post
def usual(request: DeskRequest, occasion: str, language: str = USUAL_LANGUAGE) -> HttpResponse:
    """Back to the wording Kitdesk came with; in a language that it has no words of, to none."""
    title, own = _title(occasion), wordings_of(occasion).own(_language(language))
    name = language_name(language)
    shown = own or usual_words(occasion, language)
    words = tuple(filter(None, (shown.subject, shown.text)))
    effects = ["Mails that are drafted already keep their words."]
    if worded_as(language):
        which = "usual" if language == USUAL_LANGUAGE else f"usual {name}"
        heading, submit = f"The {which} wording for “{title}”", "Use the usual wording"
    else:
        heading, submit = f"No {name} wording for “{title}”", f"Remove the {name} wording"
        effects.append(f"Students who read {name} get such a mail in the practice’s language.")
    page = ActPage(
        heading,
        submit=submit,
        effects=tuple(effects),
        affected=(Affected("Your own wording is thrown away", words),),
        danger=True,
    )
    home = reverse("rentals:mail_wording", args=[occasion])
    return act_page(request, page, lambda _: drop_wording(occasion, language), home=home)
