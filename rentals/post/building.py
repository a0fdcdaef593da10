"""From a letter to the e-mail that goes over the wire."""

from __future__ import annotations

from django.core.mail import EmailMultiAlternatives
from django.core.mail.message import utf8_charset_qp

from rentals.languages import language_tag

from .checking import check_headers
from .facts import Letter, MailSender
from .headers import encoded, with_name
from .letter import html_page, wrapped


def build(letter: Letter, sender: MailSender) -> EmailMultiAlternatives:
    """The e-mail: one recipient, plain text and HTML, enclosures, the letter's own Message-ID.

    The name shown is the sender's at the desk's own address; answers go to the sender (Reply-To),
    bounces to ``bounces_to`` (the envelope's sender).

    Raises
    ------
    Refused
        If the address cannot be used, or a line break stands where a header would take it for
        another header.
    """
    check_headers(to_name=letter.to_name, to_address=letter.to_address, subject=letter.subject)
    answers_to = [with_name(sender.name, sender.answers_to)] if sender.answers_to else None
    mail = EmailMultiAlternatives(
        subject=encoded(letter.subject),
        body=wrapped(letter.text),
        from_email=sender.bounces_to or sender.address,
        to=[with_name(letter.to_name, letter.to_address)],
        reply_to=answers_to,
        headers=_headers(letter, sender),
    )
    # Seven bits all the way: no server on the way needs to know 8BITMIME (RFC 6152)
    mail.encoding = utf8_charset_qp
    html = letter.html or html_page(letter.subject, letter.text, letter.language)
    mail.attach_alternative(html, "text/html")
    for enclosure in letter.enclosures:
        mail.attach(enclosure.file_name, enclosure.content, enclosure.content_type)
    return mail


def _headers(letter: Letter, sender: MailSender) -> dict[str, str]:
    headers = {"From": with_name(sender.name, sender.address), "Message-ID": letter.message_id}
    if letter.language:
        headers["Content-Language"] = language_tag(letter.language)  # RFC 3282
    if letter.follows:
        # RFC 5322 section 3.6.4: mail programs show them as one conversation.
        headers["In-Reply-To"] = letter.follows[-1]
        headers["References"] = " ".join(letter.follows)
    if letter.automatic:
        # RFC 3834 section 5: holiday answers keep quiet.
        headers["Auto-Submitted"] = "auto-generated"
    return headers
