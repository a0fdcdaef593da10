"""What is printed for a selection: the facts of its labels, how many, and who gets none."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import Exists, OuterRef

from rentals.models import KitType, Lead, Loan
from rentals.paper.coverage import texts_of
from rentals.paper.facts import AddressLabelFacts, LabelFacts, PracticeFacts
from rentals.selectors.paper_facts.labels import (
    address_label_facts,
    kit_label,
    lead_tags,
    part_label,
    return_label_facts,
)
from rentals.selectors.paper_facts.packing_lists import with_all_facts
from rentals.selectors.paper_facts.practice import student_address

from .kinds import MOST_PRINTED
from .selection import LabelSelection, rows_to_label

AnyLabel = LabelFacts | AddressLabelFacts


@dataclass(frozen=True)
class LabelCount:
    """How many labels a selection has, and the students who get none for want of an address."""

    labels: int
    without_address: tuple[str, ...] = ()

    @property
    def printed(self) -> int:
        """How many of them are printed at once."""
        return min(self.labels, MOST_PRINTED)

    @property
    def cut(self) -> bool:
        """Whether there are more than are printed at once."""
        return self.labels > MOST_PRINTED


def labels_to_print(selection: LabelSelection, practice: PracticeFacts) -> list[AnyLabel]:
    """Facts of the labels, at most `MOST_PRINTED`; a parcel without an address has none."""
    rows = rows_to_label(selection)
    if selection.kind == "address":
        rows = with_all_facts(rows)
    labels = [
        label for row in rows[:MOST_PRINTED] for label in _labels_of(selection.kind, row, practice)
    ]
    return labels[:MOST_PRINTED]


def count_labels(selection: LabelSelection, practice: PracticeFacts) -> LabelCount:
    """How many labels there are to print, without making their facts."""
    rows = rows_to_label(selection)
    if selection.kind == "lead":
        return LabelCount(sum(len(lead_set.leads.all()) for lead_set in rows))
    if selection.kind == "return" and practice.address is None:
        return LabelCount(0)
    if selection.kind == "address":
        return _count_addresses(rows)
    return LabelCount(rows.count())


def label_texts(selection: LabelSelection, practice: PracticeFacts) -> Iterable[str]:
    """The texts that people typed and the labels bear, without making the labels: the codes are
    ours. Of a parcel also without what only its mass needs.
    """
    rows = rows_to_label(selection)
    if selection.of.of_parcels:
        yield from texts_of(practice)
        for loan in rows[:MOST_PRINTED]:
            yield from texts_of(student_address(loan.enrolment.student))
    elif selection.kind == "kit":
        yield from (practice.name, practice.email, practice.phone)
        # One kit of a type tells; the types are few.
        one_of_it = rows.select_related(None).order_by().filter(kit_type=OuterRef("pk"))
        types = KitType.objects.filter(Exists(one_of_it)).order_by("name")
        yield from types.values_list("name", flat=True)
    else:
        yield from rows.values_list("serial", flat=True)[:MOST_PRINTED]
        leads = Lead.objects.filter(lead_set__in=rows.order_by().values("pk"))
        yield from leads.order_by("colour").values_list("colour", flat=True).distinct()


def _labels_of(kind: str, row: Any, practice: PracticeFacts) -> list[AnyLabel]:
    """The labels of one row: none, one, or one for each lead."""
    if kind == "kit":
        return [kit_label(row, practice)]
    if kind == "part":
        return [part_label(row, practice)]
    if kind == "lead":
        return list(lead_tags(row, practice))
    parcel_label = address_label_facts if kind == "address" else return_label_facts
    label = parcel_label(row, practice)
    return [label] if label else []


def _count_addresses(loans: Iterable[Loan]) -> LabelCount:
    students = [loan.enrolment.student for loan in loans]
    unknown = tuple(student.name for student in students if student_address(student) is None)
    return LabelCount(len(students) - len(unknown), unknown)
