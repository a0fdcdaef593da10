"""Money: rounded to the smallest unit of its currency, written as the reader's language does."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache

from babel.numbers import (
    UnknownCurrencyError,
    format_currency,
    get_currency_precision,
    validate_currency,
)

from rentals.languages import known_locale

_LETTER_MEETS_DIGIT = re.compile(r"(?<=[A-Za-z])(?=\d)|(?<=\d)(?=[A-Za-z])")
_NO_BREAK_SPACE = "\u00a0"


@lru_cache
def minor_units(currency: str) -> int:
    """Decimal places of a currency's smallest unit (ISO 4217 through CLDR): EUR 2, JPY 0, KWD 3.

    Raises ValueError for letters that are no currency.
    """
    try:
        validate_currency(currency)
    except UnknownCurrencyError:
        raise ValueError(f"{currency!r} is not a currency code of ISO 4217, such as EUR.") from None
    return get_currency_precision(currency)


def round_money(amount: Decimal, currency: str) -> Decimal:
    """The amount in whole smallest units, halves away from zero (commercial rounding).

    Raises ValueError for letters that are no currency.
    """
    unit = Decimal(1).scaleb(-minor_units(currency))
    return amount.quantize(unit, ROUND_HALF_UP)


def money_text(amount: Decimal, currency: str, locale: str = "en") -> str:
    """The rounded amount with its currency, such as ``€12.50`` or ``CHF 12.50``.

    Raises ValueError for letters that are no currency.
    """
    rounded = round_money(amount, currency)
    text = format_currency(rounded, currency, locale=known_locale(locale))
    # CLDR sets a currency's letters apart from the digits (its currencySpacing rule), which Babel
    # leaves to the caller.
    return _LETTER_MEETS_DIGIT.sub(_NO_BREAK_SPACE, text)
