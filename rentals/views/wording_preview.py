"""A wording as one loan's student would get it, while it is being written."""

from __future__ import annotations

from django.utils import timezone
from django.utils.safestring import mark_safe

from rentals.errors import Refused
from rentals.models import Loan, MailWording, Message
from rentals.post.letter import html_body, wrapped
from rentals.post.phrases import PHRASE_NAMES, PHRASES
from rentals.post.wording import Wording, check_phrase, check_wording
from rentals.selectors.letters import filled_letter
from rentals.selectors.wordings import Wordings, wordings_of

LOANS_OFFERED = 20
#: The mails in which a phrase is seen.
_MAIL_OF = {
    "missing_part": Message.Occasion.SHORTFALL,
    "damaged_part": Message.Occasion.SHORTFALL,
    "part_serial": Message.Occasion.DUE_SOON,
}


def loans_offered() -> list[Loan]:
    """The newest loans, for a preview on one of them."""
    loans = Loan.objects.select_related("kit", "enrolment__student", "enrolment__run")
    return list(loans.order_by("-assigned_at", "-pk")[:LOANS_OFFERED])


def wording_preview(typed: MailWording, loan: Loan | None) -> dict[str, object]:
    """The mail as this loan's student would get it in this language, or why it cannot be made."""
    if loan is None:
        return {}
    try:
        _check(typed)
    except Refused as refusal:
        return {"preview_fault": refusal.sentence}
    occasion = _MAIL_OF.get(typed.occasion, typed.occasion)
    kept = wordings_of(occasion).rows
    place = (typed.occasion, typed.language)
    others = (row for row in kept if (row.occasion, row.language) != place)
    wordings = Wordings(occasion, (typed, *others))
    today = timezone.localdate()
    letter = filled_letter(loan, wordings, today=today, language=typed.language).words
    return {
        "preview": letter,
        "preview_plain": wrapped(letter.text),
        # Built by html_body, which escapes every word that is put in.
        "preview_html": mark_safe(html_body(letter.text)),  # noqa: S308
    }


def _check(typed: MailWording) -> None:
    if typed.occasion in PHRASES:
        check_phrase(typed.text, PHRASE_NAMES)
    else:
        check_wording(Wording(typed.subject, typed.text))
