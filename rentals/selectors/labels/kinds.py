"""The kinds of labels, as a table."""

from __future__ import annotations

from dataclasses import dataclass

#: So many labels are printed at once, and so many rows are offered to be ticked.
MOST_PRINTED = 1000
MOST_OFFERED = 50


@dataclass(frozen=True)
class LabelKind:
    """What a kind of label is called, and where its rows keep what is searched.

    Codes are searched as they are stored, texts as they were typed. The first of ``code_paths`` is
    the code by which a row is ticked.
    """

    title: str
    code_paths: tuple[str, ...]
    text_paths: tuple[str, ...]
    of_parcels: bool = False

    @property
    def ticked_by(self) -> str:
        """Path to the code by which a row is ticked."""
        return self.code_paths[0]


_OF_PARTS = (("code", "kit__code"), ("serial",))
_OF_PARCELS = (("kit__code",), ("enrolment__student__name",))

KINDS = {
    "kit": LabelKind("Kit labels", ("code",), ("kit_type__name", "note")),
    "part": LabelKind("Part labels", *_OF_PARTS),
    "lead": LabelKind("Lead tags", *_OF_PARTS),
    "address": LabelKind("Address labels", *_OF_PARCELS, of_parcels=True),
    "return": LabelKind("Return labels, to put into the parcel", *_OF_PARCELS, of_parcels=True),
}
