"""Tables read in a process of their own; bombs cost the desk nothing."""

from __future__ import annotations

import io
import resource
import zipfile

import pytest

from rentals import limited_process
from rentals.limited_process import ProcessLimits
from rentals.roster import apart
from rentals.roster.apart import read_roster_apart
from rentals.roster.reading import read_roster
from rentals.roster.sheet import MAX_BYTES, RosterUnreadable

from .test_workbook import saved, workbook

pytestmark = pytest.mark.any_database
NAMESPACE = b'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'


@pytest.mark.parametrize(
    ("content", "letters"),
    [
        ("Name;E-mail\nZoë;z@x.example\n\nAda;a@x.example".encode("cp1252"), ""),
        ("Name;E-mail\nZoë;z@x.example".encode("cp1252"), "cp1250"),
        (saved(workbook(("Name", "E-mail"), ("Zoë", '=LOWER("A@X.EXAMPLE")'))), ""),
    ],
)
def test_a_sheet_comes_back_as_it_was_read(content: bytes, letters: str) -> None:
    assert read_roster_apart(content, letters) == read_roster(content, letters)


def packed_again(content: bytes, **parts: bytes) -> bytes:
    """A workbook with some of its parts replaced, packed as small as can be."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w", 8) as new:
        for name in old.namelist():
            stem = name.rsplit("/", 1)[-1].removesuffix(".xml")
            new.writestr(name, parts.get(stem) or old.read(name))
    return out.getvalue()


def a_million_columns() -> bytes:
    cells = b'<c r="A1" t="inlineStr"><is><t>x</t></is></c>' * 200_000
    sheet = b"<worksheet %b><sheetData><row r='1'>%b</row></sheetData></worksheet>"
    return packed_again(saved(workbook(("a", "b"))), sheet1=sheet % (NAMESPACE, cells))


def huge_shared_strings() -> bytes:
    """Each cell names one long text: little to unpack, much to hold."""
    text = b"<sst %b><si><t>%b</t></si></sst>" % (NAMESPACE, b"x" * 2_000)
    row = b"<row>%b</row>" % (b'<c t="s"><v>0</v></c>' * 60)
    sheet = b"<worksheet %b><sheetData>%b</sheetData></worksheet>" % (NAMESPACE, row * 4_000)
    book = saved(workbook(("a", "b")))
    return packed_again(book, sheet1=sheet, sharedStrings=text)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"a," * (25 * 2**20), f"larger than {MAX_BYTES // 2**20} MB"),
        (a_million_columns(), "takes more time or memory.*as CSV"),
        (huge_shared_strings(), "takes more time or memory.*as CSV"),
    ],
    ids=["a line of 50 MB", "a row without end", "one text in every cell"],
)
def test_bombs_are_refused_in_a_sentence_and_the_desk_stays_small(
    content: bytes, words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(apart, "LIMITS", ProcessLimits(seconds=1, mib=48))
    monkeypatch.setattr(limited_process, "_PATIENCE", 0.5)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with pytest.raises(RosterUnreadable, match=words):
        read_roster_apart(content)
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 20_000


def test_a_deep_archive_is_refused_by_what_it_claims() -> None:
    inner = packed_again(saved(workbook(("a", "b"))), sheet1=b"\0" * 13 * 2**20)
    assert len(inner) < 60_000
    with pytest.raises(RosterUnreadable, match="unpacks to far more"):
        read_roster_apart(inner)
