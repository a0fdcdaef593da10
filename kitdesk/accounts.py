"""How people get accounts and get in: the first-run page makes the owner's, the owner makes the
others; nobody signs up. Wrong passwords cost growing waits.
"""

from __future__ import annotations

import hashlib
import ipaddress
from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from allauth.mfa.models import Authenticator
from django.contrib.auth import get_user_model
from django.contrib.auth.base_user import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.http import HttpRequest

from kitdesk import tries_at_a_name
from kitdesk.known_browsers import COOKIE, browser_of
from kitdesk.throttle import Patience, begin_try, forget, take_back

#: Wrong tries for one name from one address or browser.
FOR_A_NAME = Patience(free=5, first=30, most=3600)
#: The same while the name is tried from many addresses at once.
UNDER_ATTACK = Patience(free=1, first=60, most=3600)
#: Wrong tries from one address, whatever the name.
FROM_AN_ADDRESS = Patience(free=20, first=30, most=3600)
#: Recovery codes given instead of waiting.
FOR_A_CODE = Patience(free=3, first=300, most=3600)

#: The field that comes up beside a wait.
CODE_FIELD = "recovery_code"


class ClosedSignup(DefaultAccountAdapter):
    """allauth's rules with the public sign-up shut, its refusal in this desk's words, and waits by
    name and address together: wrong tries from elsewhere never keep somebody out.
    """

    error_messages = {
        **DefaultAccountAdapter.error_messages,
        "username_password_mismatch": (
            "This name and password do not belong together. Type both again."
        ),
    }

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False

    def authenticate(self, request: HttpRequest, **credentials: Any) -> AbstractBaseUser | None:
        """The account that name and password belong to.

        Raises ValidationError, with the wait in words, while another try has to wait.
        """
        name = str(credentials.get("username", ""))
        who = get_user_model().objects.filter(username__iexact=name).only("pk").first()
        browser = browser_of(request.COOKIES.get(COOKIE, ""), who.pk) if who else ""
        address = address_of(request)
        pair = _key("name", name.casefold(), browser or address)
        patience = FOR_A_NAME
        if not browser and tries_at_a_name.under_attack(name):
            patience = UNDER_ATTACK
        keys = [(pair, patience)]
        if not browser:
            keys.append((_key("address", address), FROM_AN_ADDRESS))
        begun, wait = _begin_all(keys)
        code = request.POST.get(CODE_FIELD, "").strip() if wait else ""
        if code:
            code_key = _key("code", name.casefold(), address)
            begun, wait = _begin_all([(code_key, FOR_A_CODE)])
        if wait:
            raise ValidationError(_wait_words(wait), code="wait")
        user = super().authenticate(request, **credentials)
        if user is not None and code and not _opens(user, code):
            user = None
        if user is None:
            tries_at_a_name.note_wrong(name, address)
            return None
        forget(pair)
        for key in begun:
            take_back(key)
        return user

    def pre_authenticate(self, request: HttpRequest, **credentials: Any) -> None:
        """The waits are those of `authenticate`, not the library's, which count by name alone."""

    def _rollback_login_failed_rl_usage(self) -> None:
        """Nothing was used up: see `pre_authenticate`."""

    def post_login(self, request: HttpRequest, user: AbstractBaseUser, **words: Any) -> Any:
        """Goes on as the library does, and says what was tried at the door meanwhile."""
        tries_at_a_name.tell(request, user)
        return super().post_login(request, user, **words)


def address_of(request: HttpRequest) -> str:
    """Where a request comes from; of a version 6 address the network, for a household has it
    whole.
    """
    text = str(request.META.get("REMOTE_ADDR", ""))
    try:
        address = ipaddress.ip_address(text)
    except ValueError:
        return text
    if address.version == 6:
        return str(ipaddress.ip_network(f"{text}/64", strict=False).network_address)
    return text


def _begin_all(keys: list[tuple[str, Patience]]) -> tuple[list[str], int]:
    """Begin a try under every key; the first that has to wait takes back those begun before it."""
    begun: list[str] = []
    for key, patience in keys:
        wait = begin_try(key, patience)
        if wait:
            for earlier in begun:
                take_back(earlier)
            return [], wait
        begun.append(key)
    return begun, 0


def _opens(user: AbstractBaseUser, code: str) -> bool:
    """Whether this is one of the user's recovery codes that was not used yet; it is now."""
    kept = Authenticator.objects.filter(
        user_id=user.pk, type=Authenticator.Type.RECOVERY_CODES
    ).first()
    return kept is not None and bool(kept.wrap().validate_code(code))


def _key(*words: str) -> str:
    """A cache key that shows neither name nor address."""
    return "tries:" + hashlib.sha256("\n".join(words).encode()).hexdigest()


def _wait_words(seconds: int) -> str:
    minutes = -(-seconds // 60)
    wait = f"{seconds} seconds" if seconds < 60 else f"{minutes} minutes"
    wait = "a minute" if minutes == 1 and seconds >= 60 else wait
    return (
        f"Too many wrong tries from here. Wait {wait}, then try again; or give one of your recovery"
        " codes below. A browser that has signed in before does not wait for others' tries."
    )
