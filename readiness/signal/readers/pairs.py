"""Recordings of two files: which of the given ones belong together. Pure: nothing is opened."""

from __future__ import annotations

from collections.abc import Sequence

HEADER, SIGNAL = ".hea", ".dat"


def paired(names: Sequence[str]) -> list[tuple[str, str | None]]:
    """Each file with its partner: a header with the signal file of its own name, which then does
    not stand alone; all others with none. Order stays.
    """
    signals = {_stem(name): name for name in names if name.lower().endswith(SIGNAL)}
    taken = {_stem(name) for name in names if name.lower().endswith(HEADER)}
    pairs: list[tuple[str, str | None]] = []
    for name in names:
        if name.lower().endswith(HEADER):
            pairs.append((name, signals.get(_stem(name))))
        elif not (name.lower().endswith(SIGNAL) and _stem(name) in taken):
            pairs.append((name, None))
    return pairs


def _stem(name: str) -> str:
    return name.rpartition(".")[0]
