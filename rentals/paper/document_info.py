"""What a PDF says of itself: title, author, subject, and the moment it was made."""

from __future__ import annotations

from datetime import datetime, timedelta

from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFDocument, PDFInfo, PDFString, format

from rentals.catalogues import USUAL_LOCALE, spoken_locale, worded_as
from rentals.languages import language_tag


def language_of_words() -> str:
    """The language of the standing words, as a tag; names and places may be in any other."""
    locale = spoken_locale().lower().replace("_", "-")
    return language_tag(locale if worded_as(locale) else USUAL_LOCALE)


class MadeAt(PDFInfo):
    """Document information with a true moment, or with none where nobody knows it: the library
    alone would write its own.
    """

    def __init__(self, title: str, author: str, subject: str, made_at: datetime | None) -> None:
        super().__init__()
        self.title, self.author, self.subject = title, author, subject
        self.creator = "Kitdesk"
        self._made_at = made_at

    def format(self, document: PDFDocument) -> bytes:
        """The dictionary as bytes, as the library asks for it."""
        facts = {
            "Title": PDFString(self.title),
            "Author": PDFString(self.author),
            "Creator": PDFString(self.creator),
            "Producer": PDFString(self.producer),
        }
        if self.subject:
            facts["Subject"] = PDFString(self.subject)
        if self._made_at is not None:
            moment = PDFString(pdf_moment(self._made_at))
            facts |= {"CreationDate": moment, "ModDate": moment}
        return format(PDFDictionary(facts), document)


def pdf_moment(moment: datetime) -> str:
    """A moment as PDF writes it (ISO 32000-1, 7.9.4), such as ``D:20270312140500+01'00'``; one
    without a time zone is taken for universal time.
    """
    offset = moment.utcoffset() or timedelta(0)
    minutes = int(offset.total_seconds()) // 60
    sign = "-" if minutes < 0 else "+"
    hours, rest = divmod(abs(minutes), 60)
    return f"D:{moment:%Y%m%d%H%M%S}{sign}{hours:02d}'{rest:02d}'"
