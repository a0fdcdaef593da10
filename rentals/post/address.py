"""The addresses mail goes to: whether one can be used, and how it goes over the wire."""

from __future__ import annotations

import idna

from rentals.roster.addresses import email_fault


def address_fault(address: str) -> str:
    """Why mail cannot go to an address, as a sentence; empty where it can.

    Octet limits and letters before the @ are judged as rosters judge them (RFC 5321 section
    4.5.3.1, RFC 6531); what stands behind the @ must have an ASCII form.
    """
    fault = email_fault(address)
    if fault:
        return fault
    try:
        wire_domain(address.rpartition("@")[2])
    except UnicodeError:
        return (
            f"What stands behind the @ in “{address}” is no domain of the internet: look for a"
            " slip."
        )
    return ""


def wire_domain(domain: str) -> str:
    """The domain as A-labels (IDNA 2008, RFC 5891), so that ß stays ß and is not taken for ss.

    Raises
    ------
    UnicodeError
        If it has none.
    """
    return domain if domain.isascii() else idna.encode(domain, uts46=True).decode()
