"""The first page of an empty desk: it makes the owner's account and signs the owner in."""

from typing import Any

from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters

from kitdesk.forms import OwnerForm
from kitdesk.owner import OwnerExists, create_owner, owner_exists


@login_not_required
@never_cache
@sensitive_post_parameters("password1", "password2")
def first_run(request: HttpRequest) -> HttpResponse:
    """Open only while the desk has no account; afterwards it leads to the sign-in page."""
    if owner_exists():
        return redirect("account_login")
    form = OwnerForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            owner = _create_owner(form.cleaned_data)
        except OwnerExists:
            return redirect("account_login")
        login(request, owner, backend="allauth.account.auth_backends.AuthenticationBackend")
        return redirect("/")
    return render(request, "kitdesk/first_run.html", {"form": form})


def _create_owner(data: dict[str, Any]) -> User:
    return create_owner(
        data["username"],
        data["password1"],
        name=data["name"],
        email=data["email"],
        practice=data["practice"],
    )
