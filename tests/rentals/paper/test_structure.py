"""What a program that reads a paper aloud is told: language, title, headings, tables, order."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from io import BytesIO

import pikepdf
import pytest

from rentals.paper.contents_statement import contents_statement
from rentals.paper.facts import RunFacts
from rentals.paper.packing_list import packing_list
from rentals.paper.pick_sheet import run_papers
from rentals.paper.statement import settling_statement

from .made_up import LINES, PARCEL, PRACTICE
from .structure_of import Tagged, marked_pieces, structure_of
from .test_statement import SETTLED

pytestmark = pytest.mark.any_database

AT = datetime(2027, 3, 12, 14, 5, tzinfo=timezone(timedelta(hours=1)))
TIMED = replace(PRACTICE, printed_at=AT)
LONG = replace(PARCEL, practice=TIMED, lines=LINES * 5)
RUN = RunFacts(TIMED, "Spring", date(2027, 2, 26), date(2027, 6, 18), loans=(LONG, replace(PARCEL)))
PAPERS = {
    "packing list": lambda: packing_list(LONG),
    "inside copy": lambda: packing_list(LONG, inside_copy=True),
    "statement": lambda: settling_statement(
        replace(SETTLED, practice=TIMED, charges=SETTLED.charges * 12)
    ),
    "contents statement": lambda: contents_statement(replace(PARCEL, practice=TIMED)),
    "run papers": lambda: run_papers(RUN),
}


@pytest.fixture(scope="module")
def printed():
    return {name: draw().pdf for name, draw in PAPERS.items()}


@pytest.mark.parametrize("name", PAPERS)
def test_every_font_is_in_the_file(printed, name):
    with pikepdf.open(BytesIO(printed[name])) as document:
        fonts = [row for row in document.objects if _is(row, "/Font")]
        assert fonts
        for font in fonts:
            descriptor = font.get("/FontDescriptor")
            assert descriptor is not None, f"{font.BaseFont} is not embedded."
            assert "/FontFile2" in descriptor
        assert document.check_pdf_syntax() == []


def _is(row: object, kind: str) -> bool:
    return isinstance(row, pikepdf.Dictionary) and row.get("/Type") == kind


@pytest.mark.parametrize("name", PAPERS)
def test_it_names_its_language_title_author_subject_and_the_moment_it_was_made(printed, name):
    with pikepdf.open(BytesIO(printed[name])) as document:
        assert document.Root.Lang == "en-GB"
        assert document.Root.MarkInfo.Marked
        assert document.Root.ViewerPreferences.DisplayDocTitle
        info = document.docinfo
        assert "Spring" in str(info["/Title"]) or "K0014E" in str(info["/Title"])
        assert info["/Author"] == PRACTICE.name
        assert info["/Subject"] in ("2 parcels", f"{PARCEL.student}, {PARCEL.run}")
        assert info["/CreationDate"] == info["/ModDate"] == "D:20270312140500+01'00'"


def test_a_paper_of_an_unknown_moment_claims_none():
    with pikepdf.open(BytesIO(packing_list(PARCEL).pdf)) as document:
        assert "/CreationDate" not in document.docinfo


@pytest.mark.parametrize("name", PAPERS)
def test_each_text_is_read_once_and_in_the_order_in_which_it_is_drawn(printed, name):
    tree = structure_of(printed[name])
    drawn, unmarked = marked_pieces(printed[name])
    assert unmarked == 0
    assert tree.tag == "Document" and "H1" in tree.tags()
    assert sorted(tree.pieces()) == drawn
    assert {"Table", "TR", "TD"} <= set(tree.tags())


def test_a_table_that_runs_over_the_page_is_one_and_its_code_has_words(printed):
    tree = structure_of(printed["statement"])
    assert tree.tags().count("Table") == 1
    assert tree.tags().count("H1") == 1
    assert _alternatives(structure_of(printed["packing list"])) == [
        "QR code: HTTPS://KITS.EASE.EXAMPLE/S/K0014E"
    ]


def _alternatives(element: Tagged) -> list[str]:
    within = [kid for kid in element.kids if isinstance(kid, Tagged)]
    own_words = [element.alternative] if element.alternative else []
    return own_words + [words for kid in within for words in _alternatives(kid)]


def test_the_papers_of_a_run_have_bookmarks_that_lead_to_each_list(printed):
    with pikepdf.open(BytesIO(printed["run papers"])) as document, document.open_outline() as tree:
        titles = [entry.title for entry in tree.root]
        assert titles[0] == "Pick sheet"
        assert titles[1] == f"1. K 0014 E {PARCEL.student}" and len(titles) == 3
        assert document.Root.PageMode == "/UseOutlines"
