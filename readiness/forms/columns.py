"""The form of the column map: one role and one unit for each column of the file shown."""

from __future__ import annotations

from typing import Any

from django import forms

from readiness.signal.readers import ColumnMap, MappedColumn, Preview
from rentals.models import KitType

ROLE_CHOICES = [
    ("other", "not used"),
    ("emg", "EMG"),
    ("battery", "battery voltage"),
    ("time", "time"),
]
UNIT_CHOICES = [
    ("", "as the file says"),
    ("uV", "µV"),
    ("mV", "mV"),
    ("V", "V"),
    ("nV", "nV"),
    ("s", "s"),
    ("ms", "ms"),
]


class ColumnMapForm(forms.Form):
    """Role and unit of every column, the rate where the file has none, and the kit type the map is
    kept for.
    """

    kit_type = forms.ModelChoiceField(
        KitType.objects.filter(active=True),
        label="Kit type whose recording program writes such files",
        empty_label=None,
        help_text="The map is kept for it and used for every file with these columns.",
    )
    rate_hz = forms.FloatField(
        label="Sampling rate, Hz",
        required=False,
        min_value=1,
        max_value=20_000,
        help_text="Only where the file has neither a rate nor a time column.",
    )

    def __init__(
        self, preview: Preview, *args: Any, kit_type: KitType | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.preview = preview
        self.fields["kit_type"].initial = kit_type
        for column in preview.columns:
            name = column.label or f"Column {column.index + 1}"
            unit = column.unit if column.unit in dict(UNIT_CHOICES) else ""
            self.fields[f"role_{column.index}"] = forms.ChoiceField(
                label=f"{name}: what it is", choices=ROLE_CHOICES, initial=column.role
            )
            self.fields[f"unit_{column.index}"] = forms.ChoiceField(
                label=f"{name}: unit", choices=UNIT_CHOICES, required=False, initial=unit
            )

    def columns(self) -> list[tuple[Any, forms.BoundField, forms.BoundField]]:
        """Each previewed column with its two fields, for the template."""
        return [(c, self[f"role_{c.index}"], self[f"unit_{c.index}"]) for c in self.preview.columns]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if not self.errors:
            try:
                self._map = self._mapped(data)
            except ValueError as impossible:
                self.add_error(None, f"With these columns no file can be read: {impossible}.")
        return data

    def _mapped(self, data: dict[str, Any]) -> ColumnMap:
        chosen = [
            MappedColumn(c.index, data[f"role_{c.index}"], data[f"unit_{c.index}"] or c.unit)
            for c in self.preview.columns
            if data[f"role_{c.index}"] != "other"
        ]
        return ColumnMap(tuple(chosen), self.preview.signature, data.get("rate_hz"))

    def column_map(self) -> ColumnMap:
        """The map, after the form was found valid."""
        return self._map
