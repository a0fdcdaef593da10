"""The form of the ready kit type: each proposed line can be left out or changed before it is
made.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone

from rentals.models import KitType
from rentals.planning.starter import (
    STARTER_CARE,
    STARTER_LINES,
    STARTER_NAME,
    ChosenLine,
    StarterLine,
)
from rentals.planning.stock_need import lasts

from .stock import day_field

_MOST_PIECES = 100_000


@dataclass(frozen=True)
class LineFields:
    """One proposed line on the page: whether it is taken, the fields in view, and those behind
    “Change”.
    """

    proposed: StarterLine
    take: forms.BoundField
    in_view: tuple[forms.BoundField, ...]
    behind: tuple[forms.BoundField, ...]

    @property
    def wrong_behind(self) -> bool:
        """Whether something is to be mended in a field that is folded away."""
        return any(field.errors for field in self.behind)


class StarterForm(forms.Form):
    """A kit type from the ready list; a clean form has its `chosen` lines."""

    name = forms.CharField(label="Name of the kit type", max_length=80)
    instructions = forms.CharField(
        label="Care of leads and cells",
        help_text="Printed on the packing list and shown on the student's page.",
        required=False,
        initial=STARTER_CARE,
        widget=forms.Textarea(attrs={"rows": 5}),
    )
    chosen: list[ChosenLine]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["name"].initial = _free_name()
        for line in STARTER_LINES:
            self._add_fields(line)

    def _add_fields(self, line: StarterLine) -> None:
        fields: dict[str, forms.Field] = {
            "take": forms.BooleanField(label=line.name, required=False, initial=True),
            "quantity": forms.IntegerField(
                label="In each kit", min_value=1, max_value=999, initial=line.quantity
            ),
            "name": forms.CharField(
                label="Name on the packing list", max_length=80, initial=line.name
            ),
            "price": forms.DecimalField(
                label="Replacement price of one",
                required=False,
                min_value=0,
                max_digits=9,
                decimal_places=3,
            ),
        }
        if line.serial:
            fields["serial"] = forms.BooleanField(
                label="Each known by its serial", required=False, initial=True
            )
        else:
            fields["here"] = forms.IntegerField(
                label="On the shelf now", required=False, min_value=0, max_value=_MOST_PIECES
            )
        if line.by_batch:
            fields["batch"] = forms.CharField(label="Batch number", required=False, max_length=40)
            fields["expires"] = day_field(label="Expires on", required=False)
        self.fields |= {f"{line.key}_{name}": field for name, field in fields.items()}

    @property
    def lines(self) -> Iterator[LineFields]:
        """The proposed lines in the order of packing."""
        for line in STARTER_LINES:
            view = [
                name for name in ("quantity", "here", "batch", "expires") if self._has(line, name)
            ]
            behind = [name for name in ("name", "price", "serial") if self._has(line, name)]
            yield LineFields(
                line,
                self[f"{line.key}_take"],
                tuple(self[f"{line.key}_{name}"] for name in view),
                tuple(self[f"{line.key}_{name}"] for name in behind),
            )

    def _has(self, line: StarterLine, name: str) -> bool:
        return f"{line.key}_{name}" in self.fields

    def clean(self) -> dict[str, Any]:
        """The lines that are taken; what stands in the others is not in the way."""
        answers = super().clean() or {}
        self.chosen = []
        for line in STARTER_LINES:
            if not answers.get(f"{line.key}_take"):
                for name in [name for name in self.errors if name.startswith(f"{line.key}_")]:
                    del self.errors[name]
                continue
            if line.by_batch:
                self._check_batch(line, answers)
            self._name_line(line)
            self.chosen.append(_chosen(line, answers))
        if not self.chosen:
            self.add_error(None, "Every line is left out. Leave at least one in the kit.")
        return answers

    def _check_batch(self, line: StarterLine, answers: dict[str, Any]) -> None:
        here, batch = answers.get(f"{line.key}_here"), answers.get(f"{line.key}_batch")
        expires = answers.get(f"{line.key}_expires")
        if here and not batch:
            self.add_error(f"{line.key}_batch", "Give the batch number printed on the pouch.")
        if (batch or expires) and not here and f"{line.key}_here" not in self.errors:
            self.add_error(f"{line.key}_here", "Say how many pieces of the batch are here.")
        if not lasts(expires, timezone.localdate()):
            self.add_error(
                f"{line.key}_expires",
                "This day is past, and what has expired does not go out. Leave the batch out here.",
            )

    def _name_line(self, line: StarterLine) -> None:
        """Many fields have the same label: what is wrong says in which line."""
        for name in [name for name in self.errors if name.startswith(f"{line.key}_")]:
            sentences = [f"{line.name}: {sentence}" for sentence in self.errors[name]]
            self.errors[name] = self.error_class(sentences)


def _free_name() -> str:
    """The proposed name, numbered where it is taken."""
    taken = set(
        KitType.objects.filter(name__startswith=STARTER_NAME).values_list("name", flat=True)
    )
    numbered = (f"{STARTER_NAME} {number}" for number in range(2, len(taken) + 3))
    return next(name for name in (STARTER_NAME, *numbered) if name not in taken)


def _chosen(line: StarterLine, answers: dict[str, Any]) -> ChosenLine:
    def answer(name: str) -> Any:
        return answers.get(f"{line.key}_{name}")

    return ChosenLine(
        line,
        name=answer("name") or line.name,
        quantity=answer("quantity") or line.quantity,
        by_serial=bool(answer("serial")),
        price=answer("price") or Decimal(0),
        here=answer("here"),
        batch=answer("batch") or "",
        expires_on=answer("expires"),
    )
