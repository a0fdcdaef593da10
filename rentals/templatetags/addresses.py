"""Django's `url` for every template of the desk, without looking an address up again for each row:
as `rentals.addresses` has it.
"""

from __future__ import annotations

from django import template
from django.template import Context
from django.template.base import Parser, Token
from django.template.defaulttags import URLNode
from django.template.defaulttags import url as url_of_django
from django.urls import NoReverseMatch
from django.utils.html import conditional_escape

from rentals.addresses import page_address

register = template.Library()


@register.tag
def url(parser: Parser, token: Token) -> URLNode:
    """``{% url "rentals:kit" kit.code %}``: what Django's own tag writes, sooner."""
    node = url_of_django(parser, token)
    # Parts by name are few, and not of rows.
    return node if node.kwargs else KeptUrl(node.view_name, node.args, node.kwargs, node.asvar)


class KeptUrl(URLNode):
    """An address whose pattern is looked up once. No app stands in the addresses twice, so which
    one the page belongs to decides nothing.
    """

    def render(self, context: Context) -> str:
        """The address; empty where it is put into a variable. Raises NoReverseMatch."""
        parts = [part.resolve(context) for part in self.args]
        try:
            found = page_address(self.view_name.resolve(context), *parts)
        except NoReverseMatch:
            if self.asvar is None:
                raise
            found = ""
        if self.asvar:
            context[self.asvar] = found
            return ""
        return conditional_escape(found) if context.autoescape else found
