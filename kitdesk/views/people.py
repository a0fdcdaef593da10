"""People: who has an account on this desk, and what each may do. The owner's pages."""

from typing import Any

from django.contrib.auth.models import User
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from kitdesk.forms import HelperForm, NewPasswordForm, RolesForm
from kitdesk.people import (
    accounts_of_people,
    add_helper,
    roles_held,
    set_open,
    set_password,
    set_roles,
)
from kitdesk.roles.role import DeskRole, in_words
from rentals.models import Event
from rentals.web.acting import press_button
from rentals.web.form_page import form_page
from rentals.web.request import DeskRequest, get_or_post, posted

CHANGES_SHOWN = 12


@get_or_post
@sensitive_post_parameters("password1", "password2")
def people(request: DeskRequest) -> HttpResponse:
    """All accounts, and the form for one more."""
    return form_page(
        request,
        HelperForm(posted(request)),
        "kitdesk/people.html",
        act="add a helper",
        do=lambda data: _add_helper(data, request.user),
        then=reverse("people"),
        success=lambda helper: f"{helper.get_full_name()} can sign in as {helper.username}.",
        context=lambda: {"accounts": _accounts(), "events": _changes()},
    )


def _add_helper(data: dict[str, Any], owner: User) -> User:
    return add_helper(
        data["username"],
        data["password_hash"],
        data["roles"],
        by=owner,
        name=data["name"],
        email=data["email"],
    )


def _accounts() -> list[tuple[User, str]]:
    """Every account with its roles in words."""
    accounts = accounts_of_people().prefetch_related("groups")
    rows = accounts.order_by("-is_superuser", "-is_active", "username")
    return [(account, in_words(roles_held(account))) for account in rows]


def _changes() -> list[Event]:
    """The newest changes of what somebody may do."""
    changes = Event.objects.filter(chain__startswith="account ")
    return list(changes.order_by("-pk")[:CHANGES_SHOWN])


@get_or_post
def roles(request: DeskRequest, pk: int) -> HttpResponse:
    """What somebody may do."""
    account = get_object_or_404(accounts_of_people(), pk=pk)
    held = roles_held(account)
    initial = {"roles": [role.value for role in DeskRole if role in held]}
    return form_page(
        request,
        RolesForm(posted(request), initial=initial),
        "kitdesk/person_roles.html",
        act="change roles",
        do=lambda data: set_roles(pk, data["roles"], by=request.user),
        then=reverse("people"),
        success=f"What {account.username} may do is changed; it holds from their next page on.",
        context={"account": account},
    )


@require_POST
def open_or_close(request: DeskRequest, pk: int) -> HttpResponse:
    """Close an account, or open it again (``open`` is "1")."""
    get_object_or_404(accounts_of_people(), pk=pk)
    is_open = request.POST.get("open") == "1"
    word = "open again" if is_open else "closed"
    return press_button(
        request,
        "open or close an account",
        lambda: set_open(pk, is_open, by=request.user),
        home=reverse("people"),
        success=lambda account: f"The account {account.username} is {word}.",
    )


@get_or_post
@sensitive_post_parameters("new_password1", "new_password2")
def new_password(request: DeskRequest, pk: int) -> HttpResponse:
    """A new password for somebody who forgot theirs."""
    account = get_object_or_404(accounts_of_people(), pk=pk)
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
