"""What is said of the cells of a loan: to the owner, and to the student. Pure."""

from __future__ import annotations

from datetime import date

from rentals.counts import counted
from rentals.dates import short_date

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
    """What the student is to do with the cells, with the cautions."""
    if outlook.act_on is None:
        return "The cells last the course. Leave them in the right way round."
    day = short_date(outlook.act_on)
    if not outlook.rechargeable:
        return (
            f"Put in new cells of the same kind by {day}, all at once and the right way round;"
            " never charge the old ones."
        )
    again = ""
    if outlook.every < outlook.days:
        weeks = max(outlook.every, SHORTEST_ROUND_DAYS) // 7
        again = f" and every {counted(weeks, 'week', 'weeks')} from then on"
    return (
        f"Charge the cells by {day}{again}, only in the charger that came with them; put them back"
        " the right way round."
    )
