"""Whose capture it is: the kit and the test, by answer, header, or file name; asked where they do
not agree.
"""

from __future__ import annotations

from dataclasses import dataclass

from readiness.intake.matching import read_name
from readiness.models import Capture
from rentals.codes import NotACode, grouped, parse_code
from rentals.models import Kit


@dataclass(frozen=True)
class Asked:
    """What must be asked: ``missing`` is "kit", "test" or both ("kit test"); ``sentence`` says
    why.
    """

    missing: str
    sentence: str


def whose(
    capture: Capture, header_kit: str | None, header_test: str | None
) -> tuple[Kit, str] | Asked:
    """Kit and test of a capture whose file has been read, or what must be asked.

    An answer given on screen goes first, then the file's header, then its name; for the kit, last,
    the kit on whose page it was dropped. Header and name that differ are asked, never chosen
    between.
    """
    kit = _kit(capture, header_kit)
    test = _test(capture, header_test)
    doubts = [found for found in (kit, test) if isinstance(found, Asked)]
    if doubts:
        return Asked(
            " ".join(doubt.missing for doubt in doubts),
            " ".join(doubt.sentence for doubt in doubts),
        )
    return kit, test


def _kit(capture: Capture, header: str | None) -> Kit | Asked:
    named = read_name(capture.name)
    answered = capture.declared.get("kit")
    try:
        said = parse_code(header) if header and not answered else None
    except NotACode as wrong:
        return Asked("kit", f"The kit code in the file cannot be right. {wrong.sentence}")
    if said and named.kit and said != named.kit:
        return Asked(
            "kit",
            f"The file says kit {grouped(said)}, its name says {grouped(named.kit)}. Which is it?",
        )
    code = answered or said or named.kit
    if not code and named.kit_doubt:
        return Asked("kit", named.kit_doubt)
    code = code or capture.declared.get("page_kit")
    if not code:
        return Asked("kit", "Neither the file nor its name says which kit this is.")
    kit = Kit.objects.select_related("kit_type").filter(code=code).first()
    return kit or Asked("kit", f"There is no kit {grouped(code)} at this desk. Which kit is it?")


def _test(capture: Capture, header: str | None) -> str | Asked:
    named = read_name(capture.name)
    if answered := capture.declared.get("test"):
        return answered
    if header and named.test and header != named.test:
        return Asked(
            "test",
            f"The file says it is the test {header}, its name says {named.test}. Which is it?",
        )
    if found := header or named.test:
        return found
    return Asked(
        "test", named.test_doubt or "Neither the file nor its name says which test this is."
    )
