"""Money on paper: rounded to the smallest unit of its currency, written the way the reader's
language does.
"""

from decimal import ROUND_HALF_UP, Decimal

from babel.numbers import (
    UnknownCurrencyError,
    format_currency,
    get_currency_precision,
    validate_currency,
)

from .words import known_locale


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
    """The amount in whole smallest units, halves away from zero (commercial rounding)."""
    return amount.quantize(Decimal(1).scaleb(-minor_units(currency)), ROUND_HALF_UP)


def money_on_paper(amount: Decimal, currency: str, locale: str = "en") -> str:
    """The rounded amount with its currency, such as ``€12.50``."""
    return format_currency(round_money(amount, currency), currency, locale=known_locale(locale))
