"""Setup of the texts of the student's page: the list, one text in one language, back to usual."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from rentals.actions.student_texts import drop_student_text, save_student_text
from rentals.catalogues import languages_at_hand
from rentals.forms.student_texts import StudentTextForm
from rentals.languages import USUAL_LANGUAGE, language_name
from rentals.models import Practice
from rentals.selectors.paper_facts.practice import practice_facts
from rentals.selectors.student_texts import own_languages, own_text, usual_student_words
from rentals.student_texts import USUAL_TEXTS, TextGroup, text_groups, text_name
from rentals.web.form_page import ActPage, Affected, act_page, form_page
from rentals.web.request import DeskRequest, get_or_post, posted

_SHOWN = 90


@require_safe
def student_texts(request: DeskRequest) -> HttpResponse:
    """Every text with its beginning, and the languages in which it has words of the owner's."""
    own = own_languages()
    context = {
        "groups": [(group.title, _rows(group, own)) for group in text_groups()],
        "no_site": not practice_facts(Practice.current()).site_url,
    }
    return render(request, "rentals/setup/student_texts.html", context)


def _rows(group: TextGroup, own: dict[str, set[str]]) -> list[dict[str, object]]:
    return [
        {
            "key": key,
            "name": text_name(key),
            "words": " ".join(str(USUAL_TEXTS[key]).split())[:_SHOWN],
            "languages": [
                {
                    "url": reverse("rentals:student_text", args=[key, code]),
                    "name": language_name(code),
                    "note": "(own words)" if code in own.get(key, ()) else "",
                }
                for code in languages_at_hand()
            ],
        }
        for key in group.keys
    ]


def _check(key: str, language: str) -> None:
    if key not in USUAL_TEXTS or language not in languages_at_hand():
        raise Http404("There is no such text.")


@get_or_post
def student_text(request: DeskRequest, key: str, language: str = USUAL_LANGUAGE) -> HttpResponse:
    """One text in one language."""
    _check(key, language)
    own = own_text(key, language)
    usual = usual_student_words(key, language)
    return form_page(
        request,
        StudentTextForm(posted(request), initial={"body": own.body if own else usual}),
        "rentals/setup/student_text.html",
        act="keep a text of the student's page",
        do=lambda data: save_student_text(key, language, data["body"]),
        then=reverse("rentals:student_texts"),
        success="The text is kept; students see it from now on.",
        context={
            "key": key,
            "title": text_name(key),
            "language": language,
            "language_name": language_name(language),
            "languages": [(code, language_name(code)) for code in languages_at_hand()],
            "own": own is not None,
            "usual": usual,
            "home": reverse("rentals:student_texts"),
        },
    )


@get_or_post
def usual(request: DeskRequest, key: str, language: str) -> HttpResponse:
    """Back to the words that Kitdesk comes with."""
    _check(key, language)
    own = own_text(key, language)
    page = ActPage(
        f"The usual words for “{text_name(key)}”, {language_name(language)}",
        submit="Use the usual words",
        effects=("Students see the usual words from now on.",),
        affected=(
            Affected("Your own words are thrown away", (own.body if own else "none",)),
            Affected("Then it says", (usual_student_words(key, language),)),
        ),
        danger=True,
    )
    home = reverse("rentals:student_text", args=[key, language])
    return act_page(request, page, lambda _: drop_student_text(key, language), home=home)
