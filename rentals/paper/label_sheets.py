"""Which drawing makes the labels of a kind."""

from collections.abc import Callable

from . import labels as drawing
from .address_labels import address_labels
from .facts import Printed

DRAW: dict[str, Callable[..., Printed]] = {
    "kit": drawing.kit_labels,
    "part": drawing.part_labels,
    "lead": drawing.lead_tags,
    "address": address_labels,
    "return": address_labels,
}
