"""What the column-map page shows of a file, read or not: how it is written, its columns, and which
facts lack.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from readiness.signal.capture import Declared
from readiness.signal.errors import CaptureRefused
from readiness.signal.time_steps import Steps

from .cells import split_row
from .column_map import ColumnMap, signature_of
from .dialect import Sheet, open_sheet
from .facts import Facts, merge, need_test, parse_facts
from .limits import check_size
from .roles import Column, guess_roles, only_emg
from .sniff import kind_of
from .table import read_table
from .text import Plan, choose_rate, columns_of, emg_unit, make_plan, time_steps

NOTHING_DECLARED = Declared()
Found = TypeVar("Found")


@dataclass(frozen=True)
class PreviewColumn:
    """One column or signal: its label, unit text and guessed role; ``rate_hz`` where the file gives
    each its own.
    """

    index: int
    label: str
    unit: str
    role: str
    rate_hz: float | None = None


@dataclass(frozen=True)
class Preview:
    """A file as far as it can be told.

    Attributes
    ----------
    format : str
        ``"text"``, ``"EDF"``, ``"EDF+C"``, ``"EDF+D"``, ``"BDF"``, ``"BDF+C"`` or ``"BDF+D"``.
    delimiter, decimal, encoding : str
        Of a text; empty otherwise.
    facts : dict
        Header keys and their texts, all of them.
    columns, rows : tuple
        The columns, and the first rows as the file writes them (EDF: as numbers).
    missing : tuple of str
        Which of ``column``, ``unit``, ``rate``, ``test`` must be given before the file can be read.
    refusals : tuple of str
        A sentence for each missing fact, and for anything else that stands in the way.
    signature : str
        Header signature for a ``ColumnMap``.
    """

    format: str
    delimiter: str
    decimal: str
    encoding: str
    facts: dict[str, str]
    columns: tuple[PreviewColumn, ...]
    rows: tuple[tuple[str, ...], ...]
    missing: tuple[str, ...]
    refusals: tuple[str, ...]
    signature: str


def preview(name: str, data: bytes, declared: Declared = NOTHING_DECLARED) -> Preview:
    """Describe a capture file without needing its facts to be complete.

    Raises
    ------
    CaptureRefused
        Only for what no answer can mend: another kind of file, a damaged one, a text without rows
        of numbers.
    """
    check_size(len(data))
    kind = kind_of(name, data)
    return _preview_text(data, declared) if kind == "text" else _preview_edf(data, kind, declared)


class _Asked:
    """Runs steps, keeping the refusals instead of stopping at the first."""

    def __init__(self) -> None:
        self.missing: list[str] = []
        self.refusals: list[str] = []

    def run(self, step: Callable[[], Found]) -> Found | None:
        try:
            return step()
        except CaptureRefused as refusal:
            if refusal.missing and refusal.missing not in self.missing:
                self.missing.append(refusal.missing)
            if refusal.sentence not in self.refusals:
                self.refusals.append(refusal.sentence)
            return None


def _preview_text(data: bytes, declared: Declared) -> Preview:
    hint = declared.columns if isinstance(declared.columns, ColumnMap) else None
    sheet = open_sheet(data, hint.delimiter if hint else "", hint.decimal if hint else "")
    asked = _Asked()
    facts = asked.run(lambda: merge(parse_facts(sheet.words), declared)) or Facts()
    columns = asked.run(lambda: columns_of(sheet)) or _bare_columns(sheet)
    plan = asked.run(lambda: make_plan(sheet, hint)) or Plan(
        columns, tuple(guess_roles(columns)), None
    )
    emg = asked.run(lambda: only_emg(plan.columns, plan.roles))
    if emg is not None:
        asked.run(lambda: emg_unit(plan, emg, facts))
    steps = _steps_of(sheet, plan, facts, asked)
    if "rate" not in asked.missing:
        asked.run(lambda: choose_rate(plan, facts, steps))
    asked.run(lambda: need_test(facts.test))
    return Preview(
        "text",
        sheet.delimiter,
        sheet.decimal,
        sheet.encoding,
        dict(sheet.words),
        tuple(
            PreviewColumn(c.index, c.label, c.unit, r)
            for c, r in zip(plan.columns, plan.roles, strict=True)
        ),
        tuple(
            tuple(cell.strip() for cell in split_row(line, sheet.delimiter))
            for line in sheet.sample
        ),
        tuple(asked.missing),
        tuple(asked.refusals),
        signature_of(sheet.names, sheet.count),
    )


def _bare_columns(sheet: Sheet) -> tuple[Column, ...]:
    names = sheet.names or ("",) * sheet.count
    return tuple(Column(index, name, name, "") for index, name in enumerate(names))


def _steps_of(sheet: Sheet, plan: Plan, facts: Facts, asked: _Asked) -> Steps | None:
    if "time" not in plan.roles:
        return None
    values = asked.run(lambda: read_table(sheet))
    if values is None:
        return None
    found = asked.run(lambda: time_steps(plan, values, facts))
    return found[0] if found else None


def _preview_edf(data: bytes, kind: str, declared: Declared) -> Preview:
    from . import edf
    from .edf_header import read_header

    header = read_header(data, kind)
    signals = [signal for signal in header.signals if not signal.is_annotation]
    asked = _Asked()
    words = asked.run(lambda: edf.recording_words(header.recording)) or {}
    facts = asked.run(lambda: merge(parse_facts(words), declared)) or Facts()
    columns = edf.columns_of(signals)
    signature = signature_of([signal.label for signal in signals], len(signals))
    hint = declared.columns if isinstance(declared.columns, ColumnMap) else None
    fitting = hint if hint and hint.fits(signature) else None
    roles: Sequence[str] = fitting.roles(len(columns)) if fitting else guess_roles(columns)
    emg = asked.run(lambda: only_emg(columns, roles))
    if emg is not None:
        asked.run(lambda: edf.emg_unit(columns[emg], fitting, facts))
        asked.run(lambda: edf.check_stated_rate(header.rate_hz(signals[emg]), facts, fitting))
    asked.run(lambda: need_test(facts.test))
    first = [
        np.asarray(source.data[:8]) for source in edf.digital_signals(data, kind, len(signals))
    ]
    rows = tuple(
        tuple(f"{values[i]:.6g}" if i < len(values) else "" for values in first) for i in range(8)
    )
    return Preview(
        header.form,
        "",
        "",
        "",
        words,
        tuple(
            PreviewColumn(c.index, c.label, c.unit, r, header.rate_hz(s))
            for c, r, s in zip(columns, roles, signals, strict=True)
        ),
        rows,
        tuple(asked.missing),
        tuple(asked.refusals),
        signature,
    )
