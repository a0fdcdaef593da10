"""Which kit and which test a file belongs to, by its name. Pure: no rows are looked up here,
nothing is guessed.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from readiness.signal.catalogue import CATALOGUE, in_bench_order
from rentals.codes import NotACode, grouped, parse_code

_GAP = r"[ _.\-]?"
_WHOLE = re.compile(
    rf"(?<![A-Za-z0-9])K{_GAP}[0-9]{{4,9}}{_GAP}[0-9A-Z](?![A-Za-z0-9])", re.IGNORECASE
)
_BEGUN = re.compile(rf"(?<![A-Za-z0-9])K{_GAP}[0-9]{{3,}}[0-9A-Za-z]*", re.IGNORECASE)


@dataclass(frozen=True)
class Named:
    """What a file's name says: a well-formed kit code, one of the tests, and in words what is in
    doubt of either.
    """

    kit: str | None = None
    test: str | None = None
    kit_doubt: str = ""
    test_doubt: str = ""


def read_name(name: str) -> Named:
    """Kit code and test word in a file name such as ``2026-11-25 K0014E flex.csv``.

    A code must carry its right check character; one that does not is told and not taken. Two
    different codes or two different test words are told and not chosen between.
    """
    stem = name.rpartition(".")[0] or name
    kit, kit_doubt = _kit_in(stem)
    tests = _tests_in(stem)
    if len(tests) > 1:
        doubt = f"The file's name has the words {' and '.join(tests)}. Which test is it?"
        return Named(kit, None, kit_doubt, doubt)
    return Named(kit, tests[0] if tests else None, kit_doubt)


def _tests_in(stem: str) -> list[str]:
    """Names of bench tests that stand as words of their own, in bench order."""
    word = re.compile(rf"(?<![A-Za-z])({'|'.join(CATALOGUE)})(?![A-Za-z])", re.IGNORECASE)
    return in_bench_order(name.lower() for name in word.findall(stem))


def _kit_in(stem: str) -> tuple[str | None, str]:
    good, doubts = [], []
    for match in _WHOLE.finditer(stem):
        try:
            code = parse_code(match[0])
        except NotACode as wrong:
            doubts.append(f"The file's name has a code that cannot be right. {wrong.sentence}")
            continue
        if code not in good:
            good.append(code)
    if len(good) > 1:
        codes = " and ".join(grouped(code) for code in good)
        return None, f"The file's name has the codes {codes}. Which kit is it?"
    if good:
        return good[0], ""
    if not doubts and (begun := _BEGUN.search(stem)):
        return (
            None,
            (
                f"The file's name has {begun[0][:20]}, which is no whole kit code: its check"
                " character lacks."
            ),
        )
    return None, " ".join(doubts)
