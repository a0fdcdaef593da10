"""Tags of the student's page."""

from __future__ import annotations

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from rentals.paper import qr
from rentals.planning.starter import in_students_words
from rentals.post.letter import html_body

register = template.Library()


@register.filter
def as_paragraphs(text: str) -> SafeString:
    """A text of an owner's as paragraphs and lists; every word of it is escaped."""
    return mark_safe(html_body(str(text)))  # noqa: S308


@register.filter
def as_read(words: str) -> str:
    """A name or a note of a kit type as a student reads it: what the owner typed stays, what came
    with the ready list is translated.
    """
    return in_students_words(words)


@register.simple_tag
def qr_drawing(text: str, name: str) -> SafeString:
    """A QR code as a drawing, with the four modules of quiet zone around it; `name` is read out."""
    rows = qr.matrix(text)
    side = len(rows) + 2 * qr.QUIET_MODULES
    bars = "".join(
        f"M{start + qr.QUIET_MODULES} {y + qr.QUIET_MODULES}h{end - start}v1h{start - end}z"
        for y, row in enumerate(rows)
        for start, end in qr.bars(row)
    )
    return format_html(
        '<svg class="qr" viewBox="0 0 {0} {0}" role="img" aria-label="{1}">'
        '<rect width="{0}" height="{0}" fill="#fff"/><path d="{2}" fill="#000"/></svg>',
        side,
        name,
        bars,
    )
