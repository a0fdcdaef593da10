"""What both tellings of the loop share: roster, parts, captures, the mail that arrives."""

from __future__ import annotations

import io

import pypdf

from readiness.signal.simulator.captures import Fault
from rentals import transaction
from rentals.models import CourseRun, Kit, KitType, Practice
from tests.factories import CourseRunFactory, KitTypeFactory, complete_kit
from tests.readiness.captures import capture_bytes
from tests.smtp import Received

ROSTER = (
    "Name;E-mail;Street;Postcode;City;Country\n"
    "Zoë Álvarez-Ruíz;zoe@strings.example;Bow Lane 1;12345;Rosinburg;Germany\n"
    "No Address;not an address;Bow Lane 2;12345;Rosinburg;Germany\n"
).encode("utf-8-sig")
INTERMITTENT_B = (Fault("intermittent_lead", 0.05, "B", count=3),)


@transaction.atomic
def house() -> tuple[CourseRun, CourseRun, Kit, Kit]:
    """A run, the run after it, a cleared kit and a second kit whose parts are strangers to the
    first.
    """
    practice = Practice.current()
    practice.name, practice.email, practice.instructor = (
        "Quiet Bow Studio",
        "desk@quietbow.example",
        "A. Teacher",
    )
    practice.save()
    kit_type: KitType = KitTypeFactory(name="Two-lead training kit")
    kit, other = complete_kit(kit_type), complete_kit(kit_type, cleared=False)
    first = CourseRunFactory(kit_type=kit_type, name="Autumn run")
    return first, CourseRunFactory(kit_type=kit_type, name="Winter run"), kit, other


def captures(kit: Kit, *, seed: int, broken: bool) -> list[tuple[str, bytes]]:
    """Name and bytes of the three captures of a round: two CSV, one EDF; with a lead B that opens
    when bent.
    """
    files = []
    for test in ("still", "flex", "lift"):
        edf = test == "lift"
        data = capture_bytes(
            test,
            kit=kit.code,
            seed=seed,
            edf=edf,
            faults=INTERMITTENT_B if broken and test == "flex" else (),
        )
        files.append((f"{kit.code} {test} {seed}.{'edf' if edf else 'csv'}", data))
    return files


def attached_text(mail: Received) -> str:
    """All text of the one PDF attached to a mail that arrived."""
    (attached,) = mail.message.iter_attachments()
    assert attached.get_content_type() == "application/pdf"
    pages = pypdf.PdfReader(io.BytesIO(attached.get_content())).pages
    return "\n".join(page.extract_text() for page in pages)
