"""Who prints and who is written to: the practice, a student's address, the fonts of the house."""

from __future__ import annotations

from django.conf import settings
from django.utils import timezone

from rentals.codes import reachable
from rentals.models import Practice, Student
from rentals.paper.facts import Address, PracticeFacts
from rentals.paper.fonts import FontChooser, fonts_at_hand


def house_fonts() -> FontChooser:
    """The font chooser with the font files that the setting KITDESK_FONTS names."""
    paths = getattr(settings, "KITDESK_FONTS", ())
    return fonts_at_hand(tuple(str(path) for path in paths))


def practice_facts(practice: Practice | None = None) -> PracticeFacts:
    """The practice as paper knows it.

    It has an address only where street or town is known; where it names no site address, that of
    the settings stands in QR codes, as far as phones can reach it.
    """
    practice = practice or Practice.current()
    return PracticeFacts(
        name=practice.name,
        instructor=practice.instructor,
        email=practice.email,
        phone=practice.phone,
        address=_address_of(practice),
        site_url=reachable(practice.site_url or settings.SITE_URL),
        currency=practice.currency,
        paper=practice.paper,
        locale=settings.LANGUAGE_CODE,
        payment=practice.payment_instructions,
        days_to_pay=practice.days_to_pay,
        printed_at=timezone.now(),
    )


def student_address(student: Student) -> Address | None:
    """Where the student's parcel goes; nothing while street and town are unknown."""
    return _address_of(student)


def _address_of(addressee: Practice | Student) -> Address | None:
    if not (addressee.street or addressee.city):
        return None
    return Address(
        name=addressee.name,
        street=addressee.street,
        city=addressee.city,
        postcode=addressee.postcode,
        region=addressee.region,
        country=str(addressee.country or ""),
    )
