"""The request as every view of the desk gets it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib.auth.models import User
from django.http import HttpRequest, QueryDict
from django.urls import reverse
from django.views.decorators.http import require_http_methods
from django_htmx.middleware import HtmxDetails


class DeskRequest(HttpRequest):
    """A request of somebody who is signed in, with what htmx says of it."""

    user: User
    htmx: HtmxDetails
    #: Whether the person may open the page at an address.
    may: Callable[[str], bool]


def sees_money(request: DeskRequest) -> bool:
    """Whether the person behind a request may see what students owe and paid."""
    return request.may(reverse("rentals:money"))


#: For the page of a form: shown by GET, sent by POST.
get_or_post = require_http_methods(["GET", "HEAD", "POST"])


def posted(request: HttpRequest) -> QueryDict | None:
    """What was sent by a form; None where the page is only opened, so that its form is unbound."""
    return request.POST if request.method == "POST" else None


def posted_with_files(request: HttpRequest) -> tuple[Any, Any]:
    """What was sent by a form and the files sent with it; two None where the page is opened."""
    if request.method != "POST":
        return None, None
    return request.POST, request.FILES
