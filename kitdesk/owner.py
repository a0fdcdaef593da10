"""The first account of a new desk."""

from urllib.parse import urlsplit

from django.conf import settings
from django.contrib.auth import get_user_model
from django.contrib.auth.hashers import make_password
from django.contrib.auth.models import User
from django.contrib.contenttypes.models import ContentType

from rentals import transaction
from rentals.models import Practice

LOOPBACK = ("127.0.0.1", "localhost", "::1")
DEMO_NAME = "owner"
DEMO_PASSWORD = "look-round-24"  # noqa: S105  (printed on the screen, opens invented data only)


class OwnerExists(Exception):
    """Somebody made the owner's account first."""


def owner_exists() -> bool:
    """True once the desk has any account."""
    return get_user_model()._default_manager.exists()


def create_owner(
    username: str, password: str, *, name: str = "", email: str = "", practice: str = ""
) -> User:
    """Make the owner's account, which may do everything, and name the practice when ``practice`` is
    given.

    Raises OwnerExists when the desk already has an account. Two first-run pages sent at the same
    moment make one owner: the row that describes the account table is locked first, and every
    database honours that.
    """
    accounts = get_user_model()
    # Half a second of work: before anything is locked.
    password_hash = make_password(password)
    described = ContentType.objects.get_for_model(accounts)
    with transaction.atomic():
        ContentType.objects.select_for_update().get(pk=described.pk)
        if owner_exists():
            raise OwnerExists
        if practice:
            Practice.objects.update_or_create(
                pk=1,
                defaults={
                    "name": practice,
                    "instructor": name,
                    "email": email,
                    "site_url": _public_address(),
                },
            )
        first, _, last = name.strip().partition(" ")
        owner = accounts._default_manager.create_superuser(
            username=username, email=email, first_name=first, last_name=last
        )
        owner.password = password_hash
        owner.save(update_fields=["password"])
        return owner


def _public_address() -> str:
    """SITE_URL when other machines can open it, else nothing: a QR code to this machine itself
    helps nobody.
    """
    return "" if urlsplit(settings.SITE_URL).hostname in LOOPBACK else settings.SITE_URL


def demo_owner() -> User:
    """The demo's owner, whose password is printed on the screen; made when absent."""
    owner = get_user_model()._default_manager.filter(username=DEMO_NAME).first()
    return owner or create_owner(
        DEMO_NAME, DEMO_PASSWORD, name="Demo Owner", email="owner@demo.example"
    )
