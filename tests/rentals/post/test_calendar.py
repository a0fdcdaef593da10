"""The days of the feed: which entries, on which days, with which kits; no database."""

from __future__ import annotations

from datetime import date

from rentals.post.calendar import LoanDates, RunDates, bench_day, desk_days

#: A Monday without public holidays around it.
POST_BY = date(2027, 6, 14)
RUN = RunDates(1, "Spring", "/runs/1/", POST_BY, date(2027, 7, 14))


def _loan(kit_code: str, **changes: object) -> LoanDates:
    start = {
        "run": RUN,
        "kit_codes": (kit_code,),
        "post_by": RUN.post_by,
        "due_on": RUN.return_by,
        "to_post": True,
        "to_test": True,
        "cleared": False,
    }
    return LoanDates(**{**start, **changes})


def _kits(days) -> dict[tuple[str, date], list[str]]:
    return {(day.kind, day.on): day.kits for day in days}


def test_a_run_without_kits_has_its_three_days():
    days = desk_days([RUN], [], "DE")
    assert [(day.kind, day.on) for day in days] == [
        ("bench", date(2027, 6, 10)),
        ("post", POST_BY),
        ("return", RUN.return_by),
    ]
    assert all(day.kits == [] for day in days)


def test_kits_are_tested_two_working_days_ahead():
    assert bench_day(POST_BY, "DE") == date(2027, 6, 10)


def test_a_kit_stands_on_the_days_that_still_concern_it():
    loans = [
        _loan("K1"),
        _loan("K2", cleared=True),
        _loan("K3", to_test=False),
        _loan("K4", to_test=False, to_post=False),
    ]
    days = desk_days([RUN], loans, "DE")
    assert _kits(days) == {
        ("bench", date(2027, 6, 10)): ["K1", "K2"],
        ("post", POST_BY): ["K1", "K2", "K3"],
        ("return", RUN.return_by): ["K1", "K2", "K3", "K4"],
    }
    assert days[0].untested == 1


def test_a_loan_with_its_own_date_has_its_own_entry():
    later = date(2027, 8, 2)
    days = desk_days([RUN], [_loan("K1", to_post=False, to_test=False, due_on=later)], "DE")
    assert _kits(days)[("return", later)] == ["K1"]
    assert _kits(days)[("return", RUN.return_by)] == []
