"""Whether a letter could go over the wire as it stands."""

from __future__ import annotations

from rentals.errors import Refused

from .address import address_fault

_DELETE = 127


def check_letter(*, to_name: str, to_address: str, subject: str, text: str) -> None:
    """Raise Refused, naming the mail's field, where it could not be sent."""
    check_headers(to_name=to_name, to_address=to_address, subject=subject)
    if not subject.strip():
        raise Refused("Give the mail a subject.", field="subject")
    if not text.strip():
        raise Refused("Write something: a mail without words is not sent.", field="body_text")


def check_headers(*, to_name: str, to_address: str, subject: str) -> None:
    """Raise Refused for an address that cannot be used, and for a line break where a header would
    take it for another header.
    """
    fault = address_fault(to_address)
    if fault:
        raise Refused(fault, field="to_address")
    _refuse_control_characters(to_name, "name", "to_name")
    _refuse_control_characters(subject, "subject", "subject")


def _refuse_control_characters(value: str, name: str, field: str) -> None:
    if any(ord(character) < ord(" ") or ord(character) == _DELETE for character in value):
        raise Refused(
            f"The {name} holds a line break or another control character: write it in one line.",
            field=field,
        )
