"""Which part a scan means: its label's code, or the serial number that its maker has printed on
it.
"""

from __future__ import annotations

from django.db.models import QuerySet

from rentals.codes import grouped, is_code, looks_like_code, parse_code
from rentals.errors import Refused
from rentals.models import Kit, PackingLine
from rentals.selectors.search import parts_with_serial

LONGEST_SERIAL = 60


def code_meant(text: str, lines: QuerySet[PackingLine] | None = None) -> str:
    """The label's code of what was scanned or typed; with a serial number, that of the part that
    bears it. A part among `lines`, the parcel at hand, goes before all that are elsewhere.

    Raises
    ------
    Refused
        If it is neither, or a serial number that several parts bear: names them.
    """
    try:
        return parse_code(text)
    except ValueError as unreadable:
        serial = " ".join(text.replace("\x00", "").split())[:LONGEST_SERIAL]
        bearers = _in_parcel(serial, lines) or _at_the_desk(serial)
        if not bearers:
            unknown = "No part on file has it as its serial number." if unknown_serial(text) else ""
            raise Refused(f"{unreadable} {unknown}".rstrip(), field="scan") from unreadable
    if len(bearers) == 1:
        return bearers[0][1]
    names = " and ".join(f"{name} {grouped(code)}" for name, code in bearers)
    raise Refused(
        f"Serial number {serial} stands on {names}. Scan the label of the one in your hand.",
        field="scan",
    )


def unknown_serial(text: str) -> str:
    """The serial number that a scan gives, where it is no code and no part on file bears it; empty
    otherwise.
    """
    serial = " ".join(text.replace("\x00", "").split())
    if not serial or len(serial) > LONGEST_SERIAL or "://" in serial or looks_like_code(serial):
        return ""
    return "" if _at_the_desk(serial) else serial


def _in_parcel(serial: str, lines: QuerySet[PackingLine] | None) -> list[tuple[str, str]]:
    if lines is None or not serial:
        return []
    bearers = lines.filter(serial__iexact=serial).exclude(part_code="")
    return list(bearers.order_by("order", "pk").values_list("name", "part_code"))


def _at_the_desk(serial: str) -> list[tuple[str, str]]:
    parts = parts_with_serial(serial).order_by("kind", "code")
    return [(part.get_kind_display(), part.code) for part in parts]


def other_kit_on_label(text: str, kit: Kit) -> Kit | None:
    """The kit whose label was scanned while `kit` is worked on, where it is another one."""
    if not is_code(text):
        return None
    return Kit.objects.filter(code=parse_code(text)).exclude(pk=kit.pk).first()
