"""The standing words of the paper: care, cautions, how much and when, in one place."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from babel.numbers import format_decimal

from rentals.catalogues import gettext, gettext_noop
from rentals.dates import long_date, short_date, weekday_date
from rentals.languages import known_locale


@dataclass(frozen=True)
class Caution:
    """A rule made elsewhere that changes: its text is worth no more than its source and the day it
    was checked.
    """

    text: str
    source: str
    checked_on: date


CARE = (
    gettext_noop("Hold the housing when you plug or unplug; never pull the wire."),
    gettext_noop(
        "Lay leads in loose loops. No tight coils, not round the box: a kink spoils the signal."
    ),
    gettext_noop("The ground must not touch an active electrode."),
    gettext_noop(
        "Put both cells in the right way round; the wrong way can damage the amplifier. "
        "Two cells above 2.5 V are in order."
    ),
    gettext_noop("No trace at all: the cells are flat. A trace that misbehaves: they are weak."),
    gettext_noop(
        "A reading that stays high whatever the muscle does is interference. "
        "Run the laptop on battery, move away from power supplies, try another room."
    ),
    gettext_noop("Reusable electrodes: clean before you send them back."),
)

CAUTIONS = (
    gettext_noop("Training equipment, not for diagnosis."),
    gettext_noop("With a pacemaker or another implanted stimulator, ask a physician first."),
    gettext_noop(
        "Broken insulation, a wet or damaged charger: take it out of use and write to us."
    ),
    gettext_noop(
        "Single-use electrodes are for one person, once. Not on broken skin; stop if the skin is"
        " irritated."
    ),
    gettext_noop("Cells: only in the charger that came with them. Never post a damaged cell."),
)

INSIDE_CAUTIONS = (
    "Bench tests with the laptop on battery. Single-use parts are never reissued.",
    (
        "Electrical safety tests of chargers and amplifiers belong to a qualified person under"
        " local rules."
    ),
)

TRANSPORT = Caution(
    text=gettext_noop(
        "Rules for posting cells and alcohol swabs change yearly: protect cells from short circuit,"
        " swabs in their sealed packets, and check with your carrier before shipping."
    ),
    source="IMDG Code SP 963 (NiMH); 49 CFR 172.102 SP 47 (swabs)",
    checked_on=date(2026, 11, 25),
)


def on_paper(day: date | None, locale: str = "en", *, weekday: bool = False) -> str:
    """A date in words, such as ``Friday 12 March 2027``; empty for none."""
    if day is None:
        return ""
    written = weekday_date if weekday else long_date
    return written(day, known_locale(locale))


def in_a_column(day: date, locale: str = "en") -> str:
    """A date in a narrow column, such as ``31 Oct 2027``."""
    return short_date(day, known_locale(locale))


def transport_caution(locale: str = "en") -> str:
    """The posting rule with its source and the day it was checked."""
    sentence = gettext("{rule} Source: {source}; checked {day}.")
    day = on_paper(TRANSPORT.checked_on, locale)
    return sentence.format(rule=gettext(TRANSPORT.text), source=TRANSPORT.source, day=day)


def spoken(texts: Iterable[str]) -> tuple[str, ...]:
    """Standing words in the language of the paper."""
    return tuple(map(gettext, texts))


def kilograms(grams: int, locale: str = "en") -> str:
    """A mass in kilograms to three places, without the unit: for a column of one unit."""
    return format_decimal(grams / 1000, "#,##0.000", locale=known_locale(locale))


def mass_on_paper(grams: int, locale: str = "en") -> str:
    """A mass in words: grams below one kilogram, else kilograms to three places."""
    if grams < 1000:
        return f"{grams} g"
    return f"{format_decimal(grams / 1000, '#,##0.000', locale=known_locale(locale))} kg"
