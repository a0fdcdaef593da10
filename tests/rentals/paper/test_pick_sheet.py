import tracemalloc
from dataclasses import replace
from datetime import date

import pytest

from rentals.codes import make_code
from rentals.paper.facts import PackingListFacts, RunFacts, StockShortFacts
from rentals.paper.pick_sheet import WITH_THE_KIT, run_papers, totals_by_shelf
from tests.hour import most

from .boxes import covered, drawn_texts
from .made_up import LINES, PARCEL, PRACTICE
from .reading import page_texts


def parcels(count: int) -> list[PackingListFacts]:
    return [
        replace(PARCEL, kit_code=make_code("K", n), student=f"Student Number {n}")
        for n in range(1, count + 1)
    ]


def run_of(loans: list[PackingListFacts]) -> RunFacts:
    return RunFacts(PRACTICE, PARCEL.run, date(2027, 2, 26), date(2027, 6, 18), iter(loans))


def test_totals_are_by_shelf_part_and_batch():
    loans = parcels(3)
    other_batch = (*LINES[:8], replace(LINES[8], quantity=20, batch="EG-2612-A"), *LINES[9:])
    loans[2] = replace(loans[2], lines=other_batch)
    totals = {
        (pick.shelf, pick.name, pick.batch): (pick.pieces, pick.parcels)
        for pick in totals_by_shelf(loans)
    }
    assert totals["B4", "Pre-gelled electrodes", "EG-2611-B"] == (48, 2)
    assert totals["B4", "Pre-gelled electrodes", "EG-2612-A"] == (20, 1)
    assert totals["B4", "Dry electrodes, reusable", ""] == (9, 3)
    assert sum(pieces for pieces, _ in totals.values()) == sum(
        line.quantity for loan in loans for line in loan.lines
    )


def test_batch_and_expiry_stand_on_the_pick_sheet_and_no_name_is_cut():
    name = "Pre-gelled electrodes for the forearm, four on a card, in sachets of twenty-four each"
    lines = (*LINES[:8], replace(LINES[8], name=name), *LINES[9:])
    printed = run_papers(run_of([replace(PARCEL, lines=lines)]))
    front = page_texts(printed.pdf)[0]
    assert "batch EG-2611-B, until 31 Oct 2027" in front
    assert name in front
    assert covered(drawn_texts(printed.pdf)[0]) == []


def test_shelves_are_in_order_and_what_has_none_comes_last():
    loans = [replace(PARCEL, lines=(replace(LINES[0], shelf=""), *LINES[1:]))]
    shelves = [pick.shelf for pick in totals_by_shelf(loans)]
    assert shelves[-1] == ""
    assert shelves[:-1] == sorted(shelves[:-1])
    assert WITH_THE_KIT in page_texts(run_papers(run_of(loans)).pdf)[0]


def test_a_part_on_two_lines_of_one_parcel_is_in_one_parcel():
    (pick,) = totals_by_shelf([replace(PARCEL, lines=(LINES[12], LINES[12]))])
    assert (pick.pieces, pick.parcels) == (2, 1)


def test_what_is_packed_or_sent_is_not_fetched_again():
    day = date(2027, 2, 24)
    loans = parcels(4)
    loans[0], loans[1] = (
        replace(loans[0], packed_on=day, sent_on=day),
        replace(loans[1], packed_on=day),
    )
    text, *lists = page_texts(run_papers(run_of(loans)).pdf)
    assert len(lists) == len(loans)
    assert "4 parcels (2 still to pack), due back" in text
    assert "in 2 parcels" in text
    assert "in 4 parcels" not in text
    assert "sent 1 K 0001" in text
    assert "packed 2 K 0002" in text
    done, *lists = page_texts(run_papers(run_of(loans[:2])).pdf)
    assert len(lists) == 2
    assert "2 parcels (all packed), due back" in done
    assert "Shelf" not in done


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_pick_sheet_stands_in_front_of_one_list_per_parcel(paper):
    loans = parcels(12)
    printed = run_papers(run_of(loans), paper=paper)
    texts = page_texts(printed.pdf)
    assert printed.pages == len(texts)
    fronts = [text for text in texts if "Pick sheet" in text]
    assert len(texts) == len(fronts) + 12
    assert "12 parcels, due back 18 June 2027" in fronts[0]
    assert "Friday 26 February 2027" in fronts[0]
    assert "Shelf B4" in fronts[0]
    front = " ".join(fronts)
    for text, loan in zip(texts[len(fronts) :], loans, strict=True):
        assert text.startswith("Packing list")
        assert loan.student in text
        assert loan.student in front


def test_inside_copies_of_a_run_carry_the_override_reasons():
    texts = page_texts(run_papers(run_of(parcels(2)), inside_copy=True).pdf)
    assert sum(PARCEL.override_reason in text for text in texts) == 2


def test_a_run_without_loans_says_so_on_one_page():
    printed = run_papers(run_of([]))
    assert printed.pages == 1
    assert "0 parcels" in page_texts(printed.pdf)[0]


def test_what_cannot_be_printed_is_gathered_over_the_run():
    loans = parcels(3)
    loans[1] = replace(loans[1], student="Mila 🎻")
    assert any(text.startswith("Mila 🎻") for text in run_papers(run_of(loans)).unprintable)


def test_memory_for_a_run_of_three_hundred_stays_small():
    run_papers(run_of(parcels(5)))  # fonts are loaded once and kept
    added = most(15, 30)
    few, more = (traced_peak(count) for count in (5, 5 + added))
    assert (more - few) / added * 300 < 60e6


def traced_peak(count: int) -> int:
    """Most memory in use while the papers of a run are made, octets; the rows come from a
    generator.
    """
    tracemalloc.start()
    try:
        assert run_papers(run_of(parcels(count))).pages > count
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def test_what_does_not_suffice_stands_in_front_of_the_shelves():
    short = StockShortFacts("Pre-gelled electrodes", "48 needed, 12 here", "B4")
    run = replace(run_of(parcels(2)), stock_short=(short,))
    front = page_texts(run_papers(run).pdf)[0]
    assert "Not enough on the shelf Pre-gelled electrodes shelf B4 48 needed, 12 here" in front
    assert front.index("48 needed") < front.index("Shelf B4")
    assert "Not enough" not in page_texts(run_papers(run_of(parcels(2))).pdf)[0]
