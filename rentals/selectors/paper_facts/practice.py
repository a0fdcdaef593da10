"""Who prints and who is written to: the practice, a student's address, the fonts of the house."""

from __future__ import annotations

from dataclasses import replace

from django.conf import settings
from django.utils import timezone

from rentals.codes import reachable
from rentals.languages import USUAL_LANGUAGE
from rentals.models import Practice, Student
from rentals.paper.facts import Address, PracticeFacts
from rentals.paper.fonts import FontChooser, fonts_at_hand
from rentals.planning.payment_code import PayeeAccount
from rentals.speaking import language_read


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
        students_locale=practice.mail_language,
        payment=practice.payment_instructions,
        days_to_pay=practice.days_to_pay,
        account=PayeeAccount(practice.account_name or practice.name, practice.iban, practice.bic),
        printed_at=timezone.now(),
    )


def in_students_language(practice: PracticeFacts, student: Student) -> PracticeFacts:
    """The practice as a paper for a student knows it: with the locale of the language they read."""
    code = language_read(student.language, practice.students_locale)
    return replace(practice, locale=settings.LANGUAGE_CODE if code == USUAL_LANGUAGE else code)


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
