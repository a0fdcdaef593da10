"""What is said of lead sets: how long one lasts, what it costs a loan, when to buy. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from rentals.counts import counted
from rentals.dates import long_date

from .lead_life import LeadRecord, SpareNeed, buy_by
from .money import money_text
from .survival import SurvivalCurve


def life_sentences(record: LeadRecord) -> list[str]:
    """How long a set lasts, and how little is known of it."""
    return list(_life(record))


def buy_sentence(record: LeadRecord, needs: Sequence[SpareNeed], service: float) -> str:
    """How many to buy by when, or why none."""
    if not needs:
        return "No run of the next half year takes a lead set."
    first, last = buy_by(needs), needs[-1]
    spares = counted(record.spares, "spare is", "spares are")
    failures = (
        f"{last.expected:.1f} failures are to be expected over the runs of the next half year, and"
        f" not more than {last.at_most} with {_percent(service)}; {spares} here."
    )
    if first is None:
        return f"Buy none: {failures}"
    sets = counted(last.lacking, "lead set", "lead sets")
    return f"Buy {sets} by {long_date(first.run.back_on)}, when {first.run.run} is back: {failures}"


def cost_sentence(record: LeadRecord, price: Decimal, currency: str, locale: str) -> str:
    """What a set costs a loan; empty where no price or no loan is known."""
    cost = record.cost_a_loan(price) if price else None
    if cost is None:
        return ""
    mean, low = money_text(cost.mean, currency, locale), money_text(cost.low, currency, locale)
    high = money_text(cost.high, currency, locale) if cost.high else "not known"
    open_end = record.tells_age and record.by_loans.share(record.by_loans.seen_until)
    most = "at most " if open_end else ""
    whole = money_text(price, currency, locale)
    return f"At {whole} a set, a loan costs {most}{mean} of it ({low} to {high})."


def _life(record: LeadRecord) -> Iterator[str]:
    sets = counted(len(record.lives), "lead set has", "lead sets have")
    loans = counted(record.loans, "loan", "loans")
    ended = counted(record.ended, "has ended", "have ended")
    yield f"{sets} gone through {loans}; {ended}."
    if record.ended_unlent:
        unlent = counted(record.ended_unlent, "more was", "more were")
        yield f"{unlent} put out of use without ever having been lent."
    if record.tells_age:
        yield _half(record.by_loans)
        yield _mean(record)
    else:
        yield "That is too few to say how long one lasts."
        yield _rate(record)


def _rate(record: LeadRecord) -> str:
    """One set in so many loans, and between which numbers that lies."""
    low, high = record.a_loan_between()
    return (
        f"For now one is taken to end in every {_loans(1 / record.a_loan)}; it may be one in"
        f" {round(1 / high)} or one in {round(1 / low)}."
    )


def _half(curve: SurvivalCurve) -> str:
    """When half have ended; until then, how many outlast the time that was watched."""
    half = curve.quantile(0.5)
    if half is not None:
        low, high = curve.interval(half)
        return (
            f"Half last longer than {_loans(half - 1)}: {_percent(curve.share(half))} outlast"
            f" {_loans(half)} ({_between(low, high)})."
        )
    last = curve.steps[-1].time if curve.steps else curve.seen_until
    low, high = curve.interval(last)
    share = _percent(curve.share(last))
    return f"{share} outlast {_loans(last)} ({_between(low, high)})."


def _mean(record: LeadRecord) -> str:
    loans, months = record.by_loans.mean_life(), record.by_months.mean_life()
    return (
        f"Of the first {_loans(loans.until)} a set lives {loans.mean:.1f} ({loans.low:.1f} to"
        f" {loans.high:.1f}); of the first {months.until:.0f} months, {months.mean:.0f}"
        f" ({months.low:.0f} to {months.high:.0f})."
    )


def _loans(number: float) -> str:
    return counted(round(number), "loan", "loans")


def _between(low: float, high: float) -> str:
    return f"{round(low * 100)} to {_percent(high)}"


def _percent(share: float) -> str:
    return f"{round(share * 100)} %"
