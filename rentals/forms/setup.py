"""Forms for kit types, contents lines and the practice."""

from __future__ import annotations

import re
from collections.abc import Sequence
from types import ModuleType
from typing import Any, cast

from babel.numbers import list_currencies
from django import forms
from stdnum import bic, iban
from stdnum.exceptions import ValidationError as NumberError

from rentals.errors import Refused
from rentals.models import SERIAL_KINDS, ContentsLine, KitType, Practice
from rentals.planning.contents_line import check_line
from rentals.selectors.begun_parcels import OpenParcel

from .amounts import ask_at_least, show_in_currency
from .choices import language_field, with_empty_choice_in_words


class KitTypeForm(forms.ModelForm):
    """Name and care text of a kit type."""

    class Meta:
        model = KitType
        fields = ["name", "description", "instructions", "drain_ma", "active"]
        labels = {
            "instructions": "Care of leads and cells",
            "drain_ma": "Current drawn from the cells, mA",
            "active": "In use for new kits",
        }
        widgets = {
            "description": forms.Textarea(attrs={"rows": 2}),
            "instructions": forms.Textarea(attrs={"rows": 6}),
        }


class ContentsLineForm(forms.ModelForm):
    """One line of a contents list."""

    class Meta:
        model = ContentsLine
        formfield_callback = with_empty_choice_in_words
        fields = [
            "part_kind",
            "name",
            "quantity",
            "tracked_by",
            "stock_item",
            "days_beyond_due",
            "inner_bag",
            "comes_back",
            "single_use",
            "cleaned_between_users",
            "replacement_price",
            "life_months",
            "residual_percent",
            "mass_g",
            "origin",
            "tariff_number",
        ]
        labels = {
            "part_kind": "Kind of part",
            "name": "Name on the packing list",
            "tracked_by": "Tracked",
            "stock_item": "Taken from stock item",
            "days_beyond_due": "Days it must last beyond the due day",
            "single_use": "Single-use",
            "cleaned_between_users": "Cleaned between users",
            "replacement_price": "Replacement price of one",
            "life_months": "Life, months",
            "residual_percent": "Worth after that, percent",
            "mass_g": "Mass of one, grams",
            "origin": "Country it was made in",
            "tariff_number": "Customs tariff number",
        }
        help_texts = {
            "stock_item": "For counted lines: packing takes the pieces from here.",
            "days_beyond_due": (
                "For stock with an expiry: what goes out is usable until the kit is due back, and"
                " these days more."
            ),
            "origin": "Customs forms ask for it where a parcel leaves your customs area.",
            "tariff_number": (
                "Six digits or more of the Harmonized System; your customs office tells them."
            ),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        ask_at_least(self, quantity=1, replacement_price=0)
        self.fields["days_beyond_due"].required = False
        self.fields["residual_percent"].required = False
        if self.instance.pk:
            show_in_currency(self, "replacement_price")

    def clean_tariff_number(self) -> str:
        """Digits alone count: 8543.70 and 8543 70 are one number."""
        digits = re.sub(r"[\s.]", "", self.cleaned_data["tariff_number"])
        if digits and not re.fullmatch(r"[0-9]{6,12}", digits):
            raise forms.ValidationError(
                "A tariff number has six to twelve digits. Leave it empty where it is not known."
            )
        return digits

    def clean_days_beyond_due(self) -> int:
        """Left empty it is no day more."""
        return self.cleaned_data["days_beyond_due"] or 0

    def clean_residual_percent(self) -> int:
        """Left empty it is nothing."""
        return self.cleaned_data["residual_percent"] or 0

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if (
            data.get("tracked_by") == ContentsLine.Tracked.SERIAL
            and data.get("part_kind") not in SERIAL_KINDS
        ):
            self.add_error(
                "tracked_by",
                "Only amplifier, licence key, lead set, battery pack and charger have serials.",
            )
        try:
            check_line(
                single_use=bool(data.get("single_use")),
                comes_back=bool(data.get("comes_back")),
                cleaned=bool(data.get("cleaned_between_users")),
            )
        except Refused as refusal:
            self.add_error(refusal.field, refusal.sentence)
        return data


class RemoveLineForm(forms.Form):
    """Which of the parcels already begun lose the line too."""

    also_from = forms.TypedMultipleChoiceField(
        label="Parcels already begun",
        help_text="They go on packing it. Tick those from which it is taken off as well.",
        coerce=int,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(self, *args: Any, begun: Sequence[OpenParcel], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if begun:
            parcels = [(parcel.loan_pk, str(parcel)) for parcel in begun]
            cast(forms.ChoiceField, self.fields["also_from"]).choices = parcels
        else:
            del self.fields["also_from"]


def _bank_number(typed: str, kind: ModuleType, name: str, example: str) -> str:
    """A number of a bank as it is stored; empty where none was typed."""
    if not typed.strip():
        return ""
    try:
        return str(kind.validate(typed))
    except NumberError as fault:
        raise forms.ValidationError(
            f"{typed} is no {name}: a letter or digit is wrong. It looks like {example}."
        ) from fault


class PracticeForm(forms.ModelForm):
    """Who lends the kits."""

    mail_language = language_field(
        "Language of mails",
        help_text="Where a student has none, or one without a wording.",
        required=False,
    )

    class Meta:
        model = Practice
        fields = [
            "name",
            "instructor",
            "email",
            "phone",
            "street",
            "city",
            "postcode",
            "region",
            "country",
            "currency",
            "mail_language",
            "mains_hz",
            "paper",
            "site_url",
            "arrival_days",
            "student_page_days",
            "payment_instructions",
            "days_to_pay",
            "account_name",
            "iban",
            "bic",
            "charge_after_days",
            "deposit_first",
            "stock_service",
            "opens_packing_list",
            "mails_leave_at_once",
        ]
        labels = {
            "name": "Name of the practice",
            "instructor": "Instructor's name",
            "email": "E-mail that students answer to",
            "mains_hz": "Mains frequency",
            "site_url": "Address of this desk for phones",
            "arrival_days": "Days in which students check what has arrived",
            "student_page_days": "Days a student's page stays after the loan",
            "payment_instructions": "How students pay you",
            "days_to_pay": "Days they have for it",
            "account_name": "Account holder",
            "iban": "IBAN",
            "bic": "BIC",
            "charge_after_days": "Days after which a shortfall is proposed for charging",
            "deposit_first": "No parcel leaves before its deposit has come",
            "stock_service": "Runs for which stock shall reach, percent",
            "opens_packing_list": "The packing list opens for printing by itself",
            "mails_leave_at_once": "Mails of packing and posting leave by themselves",
        }
        widgets = {
            "street": forms.Textarea(attrs={"rows": 2}),
            "payment_instructions": forms.Textarea(attrs={"rows": 3}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["stock_service"].required = False
        self.fields["arrival_days"].required = False
        self.fields["student_page_days"].required = False

    def clean_arrival_days(self) -> int:
        """Left out, it stays as it is."""
        days = self.cleaned_data["arrival_days"]
        return self.instance.arrival_days if days is None else days

    def clean_student_page_days(self) -> int:
        """Left out, it stays as it is."""
        days = self.cleaned_data["student_page_days"]
        return self.instance.student_page_days if days is None else days

    def clean_stock_service(self) -> int:
        """Left out, it stays as it is."""
        service = self.cleaned_data["stock_service"]
        return self.instance.stock_service if service is None else service

    def clean_iban(self) -> str:
        """Without the spaces it is printed with; its check digits must fit."""
        return _bank_number(self.cleaned_data["iban"], iban, "IBAN", "DE89 3704 0044 0532 0130 00")

    def clean_bic(self) -> str:
        """In capital letters, of 8 or 11 characters."""
        return _bank_number(self.cleaned_data["bic"], bic, "BIC", "ABCDDEFFXXX")

    def clean_mail_language(self) -> str:
        """Left out, it stays as it is."""
        return self.cleaned_data["mail_language"] or self.instance.mail_language

    def clean_currency(self) -> str:
        currency = self.cleaned_data["currency"].strip().upper()
        if currency not in list_currencies():
            raise forms.ValidationError(
                f"{currency} is no currency code of ISO 4217. Give three letters, as in EUR."
            )
        return currency
