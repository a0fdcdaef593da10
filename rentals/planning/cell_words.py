"""What is said of the cells of a loan: to the owner, and to the student. Pure."""

from __future__ import annotations

from datetime import date

from rentals.catalogues import gettext, ngettext, spoken_locale
from rentals.counts import counted
from rentals.dates import short_date
from rentals.languages import known_locale

from .cells import SHORTEST_ROUND_DAYS, CellOutlook, CellVerdict

_VERDICTS = {
    CellVerdict.LAST: "The cells last the course",
    CellVerdict.PROBABLY: "The cells will probably last the course",
    CellVerdict.MAY_NOT: "The cells may not last the course",
    CellVerdict.WILL_NOT: "The cells will not last the course",
}


def owner_sentence(outlook: CellOutlook, today: date) -> str:
    """How sure it is that the cells last, and by when to have them charged or replaced
    next.
    """
    lasts = outlook.lasts
    figures = (
        f"{lasts.cautious:g} days by cautious figures, {lasts.likely:g} by likely ones, of"
        f" {counted(outlook.days, 'day', 'days')}"
    )
    sentence = f"{_VERDICTS[outlook.verdict]}: {figures}."
    day = outlook.next_on(today)
    if day is None:
        return sentence
    act = "charge" if outlook.rechargeable else "replace"
    return f"{sentence} Have the student {act} them by {short_date(day)}."


def student_sentence(outlook: CellOutlook) -> str:
    """What the student is to do with the cells, with the cautions, in the language that is spoken
    now.
    """
    if outlook.act_on is None:
        return gettext("The cells last the course. Leave them in the right way round.")
    day = short_date(outlook.act_on, known_locale(spoken_locale()))
    if not outlook.rechargeable:
        renew = gettext(
            "Put in new cells of the same kind by {day}, all at once and the right way round; never"
            " charge the old ones."
        )
        return renew.format(day=day)
    weeks = max(outlook.every, SHORTEST_ROUND_DAYS) // 7
    if outlook.every < outlook.days:
        charge = ngettext(
            "Charge the cells by {day} and every {count} week from then on, only in the charger"
            " that came with them; put them back the right way round.",
            "Charge the cells by {day} and every {count} weeks from then on, only in the charger"
            " that came with them; put them back the right way round.",
            weeks,
        )
    else:
        charge = gettext(
            "Charge the cells by {day}, only in the charger that came with them; put them back the"
            " right way round."
        )
    return charge.format(day=day, count=weeks)
