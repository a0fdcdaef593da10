"""From a message to the e-mail that goes over the wire."""

from __future__ import annotations

from email.utils import parseaddr

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.core.mail.message import utf8_charset_qp

from rentals.models import Message, Practice
from rentals.selectors.enclosures import content_of

from .checking import check_headers
from .headers import encoded, with_name
from .letter import html_page, wrapped


def build(message: Message, practice: Practice | None = None) -> EmailMultiAlternatives:
    """The e-mail: one recipient, plain text and HTML, attachments, the message's own Message-ID.

    The sender shown is the practice's name at the desk's own address; answers go to the practice
    (Reply-To), bounces to ``settings.BOUNCE_ADDRESS`` (the envelope's sender), else to the address
    shown.

    Raises
    ------
    Refused
        If the address cannot be used, or a line break stands where a header would take it for
        another header.
    """
    check_headers(to_name=message.to_name, to_address=message.to_address, subject=message.subject)
    practice = practice or Practice.current()
    desk = parseaddr(settings.DEFAULT_FROM_EMAIL)[1]
    headers = {"From": with_name(practice.name, desk), "Message-ID": message.message_id}
    if message.automatic:
        headers["Auto-Submitted"] = (
            "auto-generated"  # RFC 3834 section 5: holiday answers keep quiet.
        )
    mail = EmailMultiAlternatives(
        subject=encoded(message.subject),
        body=wrapped(message.body_text),
        from_email=getattr(settings, "BOUNCE_ADDRESS", "") or desk,
        to=[with_name(message.to_name, message.to_address)],
        reply_to=[with_name(practice.name, practice.email)] if practice.email else None,
        headers=headers,
    )
    # Seven bits all the way: no server on the way needs to know 8BITMIME (RFC 6152)
    mail.encoding = utf8_charset_qp
    mail.attach_alternative(
        message.body_html or html_page(message.subject, message.body_text), "text/html"
    )
    for attachment in message.attachments.select_related("message"):
        mail.attach(attachment.file_name, content_of(attachment), attachment.content_type)
    return mail
