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
    ("us", "µs"),
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

    full_scale_mv = forms.FloatField(
        label="Voltage at full scale, mV",
        min_value=0.001,
        max_value=100_000,
        help_text="At the electrodes, where the sound fills its range: by the adapter's sheet.",
    )

    def __init__(
        self, preview: Preview, *args: Any, kit_type: KitType | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.preview = preview
        self.fields["kit_type"].initial = kit_type
        if not preview.of_full_scale:
            del self.fields["full_scale_mv"]
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
        full_scale_mv = data.get("full_scale_mv")
        return ColumnMap(
            tuple(chosen),
            self.preview.signature,
            data.get("rate_hz"),
            full_scale_uv=full_scale_mv * 1e3 if full_scale_mv else None,
        )

    def column_map(self) -> ColumnMap:
        """The map, after the form was found valid."""
        return self._map
