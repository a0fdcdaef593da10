"""People: who has an account on this desk. The owner's page."""

from typing import Any

from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from kitdesk.forms import HelperForm, NewPasswordForm
from kitdesk.people import add_helper, set_open, set_password
from rentals.web.acting import press_button
from rentals.web.form_page import form_page
from rentals.web.request import DeskRequest, get_or_post, posted


def _owner(request: DeskRequest) -> User:
    if not request.user.is_superuser:
        raise PermissionDenied
    return request.user


@get_or_post
@sensitive_post_parameters("password1", "password2")
def people(request: DeskRequest) -> HttpResponse:
    """All accounts, and the form for one more."""
    _owner(request)
    return form_page(
        request,
        HelperForm(posted(request)),
        "kitdesk/people.html",
        act="add a helper",
        do=_add_helper,
        then=reverse("people"),
        success=lambda helper: f"{helper.get_full_name()} can sign in as {helper.username}.",
        context=lambda: {"accounts": _accounts()},
    )


def _add_helper(data: dict[str, Any]) -> User:
    return add_helper(
        data["username"], data["password_hash"], name=data["name"], email=data["email"]
    )


def _accounts() -> QuerySet[User]:
    accounts = get_user_model()._default_manager
    return accounts.order_by("-is_superuser", "-is_active", "username")


@require_POST
def open_or_close(request: DeskRequest, pk: int) -> HttpResponse:
    """Close an account, or open it again (``open`` is "1")."""
    owner = _owner(request)
    get_object_or_404(get_user_model(), pk=pk)
    is_open = request.POST.get("open") == "1"
    word = "open again" if is_open else "closed"
    return press_button(
        request,
        "open or close an account",
        lambda: set_open(pk, is_open, by=owner),
        home=reverse("people"),
        success=lambda account: f"The account {account.username} is {word}.",
    )


@get_or_post
@sensitive_post_parameters("new_password1", "new_password2")
def new_password(request: DeskRequest, pk: int) -> HttpResponse:
    """A new password for somebody who forgot theirs."""
    _owner(request)
    account = get_object_or_404(get_user_model(), pk=pk)
    return form_page(
        request,
        NewPasswordForm(account, posted(request)),
        "kitdesk/person_password.html",
        act="set a password",
        do=lambda data: set_password(pk, data["password_hash"]),
        then=reverse("people"),
        success=f"{account.username} has a new password. Tell them in person.",
        context={"account": account},
    )
