"""Facts of labels for kits, parts, leads and parcels."""

from __future__ import annotations

from rentals.models import Kit, LeadSet, Loan, Part
from rentals.paper.contents_statement import parcel_mass_g
from rentals.paper.facts import AddressLabelFacts, LabelFacts, PracticeFacts

from .leads import leads_in_words
from .packing_lists import packing_list_facts
from .practice import practice_facts, student_address


def kit_label(kit: Kit, practice: PracticeFacts) -> LabelFacts:
    """A kit's label: its type, and whom to write to when it is found."""
    contacts = tuple(filter(None, (practice.email, practice.phone)))
    return LabelFacts(kit.code, kit.kit_type.name, contacts, practice.site_url, practice.name)


def part_label(part: Part, practice: PracticeFacts) -> LabelFacts:
    """A part's label: its kind and serial, and the leads of a set."""
    lines = tuple(filter(None, (f"serial {part.serial}", leads_in_words(part))))
    return LabelFacts(part.code, part.get_kind_display(), lines, practice.site_url)


def lead_tags(lead_set: LeadSet, practice: PracticeFacts) -> list[LabelFacts]:
    """A tag for each lead of a set: its role and colour, under the code of the set."""
    return [
        LabelFacts(
            lead_set.code,
            lead.get_role_display(),
            tuple(filter(None, (lead.colour,))),
            practice.site_url,
        )
        for lead in lead_set.leads.all()
    ]


def address_label_facts(
    loan: Loan, practice: PracticeFacts | None = None
) -> AddressLabelFacts | None:
    """The parcel's label; nothing while the student's address is unknown. Mass as weighed, else
    from the parts.
    """
    practice = practice or practice_facts()
    student = loan.enrolment.student
    receiver = student_address(student)
    if receiver is None:
        return None
    mass = loan.parcel_mass_g or parcel_mass_g(packing_list_facts(loan, practice).lines)
    return AddressLabelFacts(
        receiver, practice.address, loan.kit.code, mass, practice.locale, student.phone
    )


def return_label_facts(loan: Loan, practice: PracticeFacts) -> AddressLabelFacts | None:
    """The label for the way back, to put into the parcel; nothing while the practice has no
    address.
    """
    if practice.address is None:
        return None
    student = student_address(loan.enrolment.student)
    return AddressLabelFacts(
        practice.address, student, loan.kit.code, 0, practice.locale, practice.phone
    )
