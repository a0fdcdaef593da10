"""Forms for counted stock."""

from __future__ import annotations

from typing import Any, cast

from django import forms
from django.utils import timezone

from rentals.models import ElectrodeBatch, StockItem
from rentals.planning.stock_need import lasts

from .amounts import ask_at_least, show_in_currency
from .choices import with_empty_choice_in_words


def day_field(**kwargs: Any) -> forms.DateField:
    """A date with the browser's own date picker."""
    return forms.DateField(
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}), **kwargs
    )


_LEFT_AS_THEY_ARE = ("lead_days", "lead_spread_days", "pack_size")


class StockItemForm(forms.ModelForm):
    """What is counted, where it lies, when to reorder and how it is bought."""

    class Meta:
        model = StockItem
        formfield_callback = with_empty_choice_in_words
        fields = [
            "name",
            "kind",
            "by_batch",
            "unit",
            "reorder_point",
            "shelf",
            "supplier",
            "lead_days",
            "lead_spread_days",
            "pack_size",
            "pack_price",
            "order_cost",
        ]
        labels = {
            "by_batch": "Kept in batches with an expiry date (electrodes, swabs)",
            "reorder_point": "Reorder at",
            "lead_days": "Days an order takes",
            "lead_spread_days": "Give or take",
            "pack_size": "Pieces in a pack",
            "pack_price": "Price of a pack",
            "order_cost": "Cost of an order",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in _LEFT_AS_THEY_ARE:
            self.fields[name].required = False
        show_in_currency(self, "pack_price", "order_cost")
        ask_at_least(self, pack_size=1, pack_price=0, order_cost=0)

    def clean(self) -> dict[str, Any]:
        """What is left out stays as it is."""
        answers = super().clean() or {}
        for name in _LEFT_AS_THEY_ARE:
            if answers.get(name) is None and name not in self.errors:
                answers[name] = getattr(self.instance, name)
        return answers


class ExpiryForm(forms.Form):
    """A form with the expiry of a batch; a past day is questioned, by a tick that is shown only
    then.
    """

    expires_on = day_field(label="Expires on", required=False)
    expired_already = forms.BooleanField(label="Yes, it has expired", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not self.is_bound:
            del self.fields["expired_already"]

    def clean(self) -> dict[str, Any]:
        """The tick is asked for where the day is past, and only there."""
        answers = super().clean() or {}
        if lasts(answers.get("expires_on"), timezone.localdate()):
            self.fields.pop("expired_already", None)
            answers.pop("expired_already", None)
        return answers


class RestockForm(ExpiryForm):
    """Pieces that came in."""

    quantity = forms.IntegerField(label="Pieces that came in", min_value=1, max_value=100_000)
    batch_number = forms.CharField(label="Batch number", max_length=40, required=False)

    field_order = ("quantity", "batch_number", "expires_on", "expired_already")

    def __init__(self, *args: Any, item: StockItem, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not item.by_batch:
            for name in ("batch_number", "expires_on", "expired_already"):
                self.fields.pop(name, None)
        else:
            self.fields["batch_number"].required = True


class CorrectBatchForm(ExpiryForm):
    """What is on file of a batch, to be corrected."""

    edits_row = True
    batch_number = forms.CharField(label="Batch number", max_length=40)
    on_hand = forms.IntegerField(label="Pieces on hand", min_value=0, max_value=1_000_000)
    reason = forms.CharField(label="Why", max_length=200, required=False)

    field_order = ("batch_number", "expires_on", "expired_already", "on_hand", "reason")


class BatchField(forms.ModelChoiceField):
    """A batch, named by its number and what the file says is there."""

    def label_from_instance(self, obj: ElectrodeBatch) -> str:
        return f"{obj.batch_number}, {obj.on_hand} on file"


class CountForm(forms.Form):
    """What a count found."""

    edits_row = True
    batch = BatchField(ElectrodeBatch.objects.none(), label="Batch", empty_label=None)
    counted = forms.IntegerField(label="Pieces counted", min_value=0, max_value=1_000_000)
    reason = forms.CharField(label="Why it differs", max_length=200, required=False)

    def __init__(self, *args: Any, item: StockItem, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if item.by_batch:
            batch = cast(BatchField, self.fields["batch"])
            batch.queryset = item.batches.all()
        else:
            del self.fields["batch"]
