"""Reading what Setup says about the wording of mails."""

from __future__ import annotations

from dataclasses import dataclass

from rentals.languages import USUAL_LANGUAGE
from rentals.models import MailWording, Message
from rentals.post.phrases import PHRASES, usual_phrase
from rentals.post.usual_wording import usual_wording
from rentals.post.wording import Wording

Occasion = Message.Occasion
#: Occasions that draft their mail by themselves until Setup says otherwise.
BY_ITSELF = (Occasion.PACKING_LIST, Occasion.SHORTFALL, Occasion.STATEMENT)


@dataclass(frozen=True)
class Wordings:
    """All that was written for one occasion, in every language, with the phrases that stand in
    it.
    """

    occasion: str
    rows: tuple[MailWording, ...]

    @property
    def languages(self) -> tuple[str, ...]:
        """The languages with an own wording of the occasion, by their code."""
        return tuple(sorted(row.language for row in self.rows if row.occasion == self.occasion))

    def own(self, language: str) -> MailWording | None:
        """The practice's own wording in a language; None where it has none."""
        return self._row(self.occasion, language)

    def wording(self, language: str) -> Wording:
        """The practice's own wording in a language, else the one Kitdesk came with."""
        own = self.own(language)
        return Wording(own.subject, own.text) if own else usual_words(self.occasion, language)

    def phrases(self, language: str) -> dict[str, str]:
        """The phrases of a language that the practice has written."""
        rows = ((key, self._row(key, language)) for key in PHRASES)
        return {key: row.text for key, row in rows if row}

    @property
    def by_itself(self) -> bool:
        """Whether the mail is drafted when its occasion comes up, without anybody asking for it."""
        for row in self.rows:
            if row.occasion == self.occasion:
                return row.drafted_by_itself
        return self.occasion in BY_ITSELF

    def _row(self, occasion: str, language: str) -> MailWording | None:
        for row in self.rows:
            if (row.occasion, row.language) == (occasion, language):
                return row
        return None


def wordings_of(occasion: str) -> Wordings:
    """What was written for an occasion; one query."""
    rows = MailWording.objects.filter(occasion__in=[occasion, *PHRASES]).order_by("pk")
    return Wordings(occasion, tuple(rows))


def wordings_written() -> dict[str, Wordings]:
    """The same for every occasion and phrase, in their order; one query in all."""
    rows = tuple(MailWording.objects.order_by("pk"))
    return {key: Wordings(key, rows) for key in (*Occasion.values, *PHRASES)}


def usual_words(occasion: str, language: str = USUAL_LANGUAGE) -> Wording:
    """The wording, or the phrase, that Kitdesk came with in a language; English where it has no
    words of it.
    """
    usual = usual_phrase if occasion in PHRASES else usual_wording
    return usual(occasion, language)
