"""People: who has an account on this desk. The owner's page."""

from django.contrib import messages
from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from kitdesk.forms import HelperForm, NewPasswordForm
from kitdesk.people import add_helper, set_open, set_password
from rentals.errors import Refused


def _owner(request: HttpRequest) -> User:
    if not request.user.is_superuser:
        raise PermissionDenied
    return request.user


@sensitive_post_parameters("password1", "password2")
def people(request: HttpRequest) -> HttpResponse:
    """All accounts, and the form for one more."""
    _owner(request)
    form = HelperForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            helper = add_helper(
                given["username"], given["password1"], name=given["name"], email=given["email"]
            )
        except Refused as refusal:
            form.add_error(refusal.field, refusal.sentence)
        else:
            messages.success(request, f"{helper.get_full_name()} can sign in as {helper.username}.")
            return redirect("people")
    accounts = get_user_model()._default_manager.order_by("-is_superuser", "-is_active", "username")
    return render(request, "kitdesk/people.html", {"form": form, "accounts": accounts})


@require_POST
def open_or_close(request: HttpRequest, pk: int) -> HttpResponse:
    """Close an account, or open it again (``open`` is "1")."""
    owner = _owner(request)
    get_object_or_404(get_user_model(), pk=pk)
    try:
        account = set_open(pk, request.POST.get("open") == "1", by=owner)
    except Refused as refusal:
        messages.error(request, refusal.sentence)
    else:
        word = "open again" if account.is_active else "closed"
        messages.success(request, f"The account {account.username} is {word}.")
    return redirect("people")


@sensitive_post_parameters("new_password1", "new_password2")
def new_password(request: HttpRequest, pk: int) -> HttpResponse:
    """A new password for somebody who forgot theirs."""
    _owner(request)
    account = get_object_or_404(get_user_model(), pk=pk)
    form = NewPasswordForm(account, request.POST or None)
    if request.method == "POST" and form.is_valid():
        set_password(pk, form.cleaned_data["new_password1"])
        messages.success(request, f"{account.username} has a new password. Tell them in person.")
        return redirect("people")
    return render(request, "kitdesk/person_password.html", {"form": form, "account": account})
