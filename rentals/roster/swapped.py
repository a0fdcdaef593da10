"""Columns that hold something else than their heads say, as where two heads were swapped: found by
what most of their texts look like, and said once for the whole table.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import islice

from .columns import FIELDS
from .kinds import LOOKS, share_that_looks_like
from .sheet import SheetRow, column_letters

_ROWS_LOOKED_AT = 200
#: A column of which four in five look otherwise is taken to be something else: a slip of the pen
#: is in single rows, a swapped head in all of them.
_MOST, _FEW = 0.8, 0.2
#: Looks like nothing else, so that it is believed of a column without a known head too.
_ALONE = ("email",)


@dataclass(frozen=True)
class ColumnDoubt:
    """A better reading of the columns: `fields` as proposed, and a sentence on what was found."""

    fields: dict[str, int]
    sentence: str


def doubted_columns(
    rows: Sequence[SheetRow], fields: Mapping[str, int], heads: Sequence[str]
) -> ColumnDoubt | None:
    """What the columns rather seem to be; None where they look like what their heads say."""
    texts = [
        [row.cells[index] for row in islice(rows, _ROWS_LOOKED_AT) if index < len(row.cells)]
        for index in range(len(heads))
    ]
    share = _Shares(texts)
    better = dict(fields)
    for _ in range(2 * len(fields)):
        step = _best_step(better, share)
        if step is None:
            break
        better = step
    changed = [name for name, index in fields.items() if better[name] != index]
    if not changed or any(share.of(name, better[name]) < _MOST for name in changed):
        return None
    found = "; ".join(_found(name, fields[name], better[name], heads) for name in changed)
    return ColumnDoubt(
        better,
        f"The columns do not hold what their heads say: {found}. Below they are set as they seem to"
        " be: look at the samples, then go on.",
    )


class _Shares:
    """The share of a column's texts that look like a field, each worked out once."""

    def __init__(self, texts: Sequence[Sequence[str]]) -> None:
        self.filled = [index for index, column in enumerate(texts) if any(column)]
        self._texts = texts
        self._known: dict[tuple[str, int], float] = {}

    def of(self, name: str, index: int) -> float:
        """0 to 1; 1 for a column without texts."""
        if (name, index) not in self._known:
            self._known[name, index] = share_that_looks_like(name, self._texts[index])
        return self._known[name, index]


def _best_step(fields: Mapping[str, int], share: _Shares) -> dict[str, int] | None:
    """The one move of a field to another column (a swap where that one is taken) that helps most,
    as long as the field clearly did not fit where it was and does afterwards.
    """
    best, best_gain = None, 0.0
    taken = {index: name for name, index in fields.items()}
    for name, index in fields.items():
        if name not in LOOKS or share.of(name, index) > _FEW:
            continue
        for target in share.filled:
            partner = taken.get(target)
            if share.of(name, target) < _MOST or (partner is None and name not in _ALONE):
                continue
            gain = share.of(name, target) - share.of(name, index)
            if partner:
                gain += share.of(partner, index) - share.of(partner, target)
            if gain > best_gain:
                best_gain = gain
                best = {**fields, name: target, **({partner: index} if partner else {})}
    return best


def _found(name: str, index: int, better: int, heads: Sequence[str]) -> str:
    return (
        f"“{heads[index]}” (column {column_letters(index)}) does not look like"
        f" {FIELDS[name].lower()}, “{heads[better]}” (column {column_letters(better)}) does"
    )
