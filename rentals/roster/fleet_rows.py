"""Rows of a fleet's table against what is on file: what each does, and what is wrong with it."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from rentals.codes import KIT, NotACode, grouped, looks_like_code, parse_code
from rentals.counts import counted

from .fleet_table import FleetTable
from .fleet_words import FLEET_FIELDS, KIND_LABELS, is_counted, kind_meant
from .overfull import cells_of, is_overfull
from .people import CellFault
from .sheet import SheetRow, cell_name

LONGEST_SERIAL = 60
LONGEST_KIT_NAME = 60


@dataclass(frozen=True)
class PartOnFile:
    """A part that is on file: its code, the kit that holds it ("" for none), where it is in words,
    and whether it is a sound spare.
    """

    code: str
    kit: str
    place: str
    sound_spare: bool


@dataclass(frozen=True)
class KitOnFile:
    """A kit that is on file: whether its parts may be changed, its state in words, and how many
    parts of each kind it still takes.
    """

    code: str
    may_change: bool
    state: str
    free: Mapping[str, int]


@dataclass(frozen=True)
class FleetOnFile:
    """What the rows are judged against. `parts` by `part_key`; `kits` by code; `named` are codes of
    kits by the own names noted on them; `free` is what a new kit takes of each kind; `own_names`
    as in `kind_meant`.
    """

    parts: Mapping[tuple[str, str], PartOnFile] = field(default_factory=dict)
    kits: Mapping[str, KitOnFile] = field(default_factory=dict)
    named: Mapping[str, Sequence[str]] = field(default_factory=dict)
    free: Mapping[str, int] = field(default_factory=dict)
    own_names: Mapping[str, str] = field(default_factory=dict)


class FleetOutcome(StrEnum):
    """What confirming does with a row."""

    NEW = "new part"
    SPARE = "spare, goes in"
    THERE = "already there"
    WRONG = "in the way"


@dataclass(frozen=True)
class FleetRow:
    """One row, judged. `kit` is the code of a kit on file, `new_kit` the name of one to be made;
    both empty for a spare. `part` is the code of a part on file.
    """

    number: int
    kit_text: str
    kind_text: str
    serial: str
    kind: str
    outcome: FleetOutcome
    kit: str = ""
    new_kit: str = ""
    part: str = ""
    faults: tuple[CellFault, ...] = ()

    @property
    def into(self) -> str:
        """Where the part goes, in words."""
        if self.new_kit:
            return f"new kit “{self.new_kit}”"
        return f"kit {grouped(self.kit)}" if self.kit else "the spares"


def part_key(kind: str, serial: str) -> tuple[str, str]:
    """What tells two parts apart: capitals do not."""
    return kind, serial.lower()


def name_key(name: str) -> str:
    """What tells the own names of two kits apart."""
    return " ".join(name.split()).lower()


def judge_fleet(table: FleetTable, on_file: FleetOnFile) -> list[FleetRow]:
    """Every row of the table, in its order."""
    judge = _Judge(table, on_file)
    return [judge.row(row) for row in table.rows]


def fingerprint(rows: Sequence[FleetRow]) -> str:
    """What a preview promised, in short: another one means that the desk has changed meanwhile."""
    promised = [(row.number, row.kind, row.serial, row.outcome, row.into, row.part) for row in rows]
    return hashlib.sha256(repr(promised).encode()).hexdigest()[:32]


class _Judge:
    """Goes down the rows and keeps what those above have taken."""

    def __init__(self, table: FleetTable, on_file: FleetOnFile) -> None:
        self._table, self._file = table, on_file
        self._seen: dict[tuple[str, str], int] = {}
        self._taken: Counter[tuple[str, str]] = Counter()

    def row(self, row: SheetRow) -> FleetRow:
        texts = {name: self._table.cell(row, name) for name in FLEET_FIELDS}
        kind = kind_meant(texts["kind"], self._file.own_names)
        kit, new_kit, faults = self._kit(row, texts["kit"])
        faults = self._unreadable(row) + faults
        wrong = {fault.field for fault in faults}
        for name, fault in (
            ("kind", self._kind_fault(texts["kind"], kind)),
            ("serial", self._serial_fault(row, kind, texts["serial"])),
        ):
            if fault and name not in wrong:
                faults.append(self._fault(row, name, fault))
        on_file = self._file.parts.get(part_key(kind, texts["serial"]))
        outcome = FleetOutcome.WRONG
        if not faults:
            outcome, fault = self._outcome(kind, kit, new_kit, on_file)
            if fault:
                faults.append(self._fault(row, "kit" if kit or new_kit else "serial", fault))
        return FleetRow(
            row.number,
            texts["kit"],
            texts["kind"],
            texts["serial"],
            kind,
            outcome,
            kit,
            new_kit,
            on_file.code if on_file else "",
            tuple(faults),
        )

    def _fault(self, row: SheetRow, name: str, sentence: str) -> CellFault:
        column = self._table.columns.fields.get(name, -1)
        return CellFault(name, cell_name(column, row.number) if column >= 0 else "", sentence)

    def _unreadable(self, row: SheetRow) -> list[CellFault]:
        by_column = {index: name for name, index in self._table.columns.fields.items()}
        faults = [
            CellFault(by_column[column], cell_name(column, row.number), sentence)
            for column, sentence in sorted(row.troubles.items())
            if column in by_column
        ]
        columns = self._table.columns
        if is_overfull(row, len(columns.heads), columns.width):
            cells = counted(cells_of(row, len(columns.heads)), "cell", "cells")
            heads = counted(len(columns.heads), "head", "heads")
            sentence = (
                f"The row has {cells} for {heads}: put quotation marks around a cell that holds a"
                " comma, or take away what is too much."
            )
            faults.append(CellFault("", "", sentence))
        return faults

    def _kit(self, row: SheetRow, text: str) -> tuple[str, str, list[CellFault]]:
        """Code of the kit that is meant, or the name of a new one, or what is wrong with it."""
        code, sentence = "", ""
        if looks_like_code(text):
            code, sentence = self._by_code(text)
            return code, "", [self._fault(row, "kit", sentence)] if sentence else []
        if len(text) > LONGEST_KIT_NAME:
            sentence = f"The kit's name is longer than {LONGEST_KIT_NAME} characters."
            return "", "", [self._fault(row, "kit", sentence)]
        codes = self._file.named.get(name_key(text), ()) if text else ()
        if len(codes) > 1:
            several = " and ".join(grouped(code) for code in codes)
            sentence = f"“{text}” is noted on {several}. Give the code of the one that is meant."
            return "", "", [self._fault(row, "kit", sentence)]
        return (codes[0], "", []) if codes else ("", text, [])

    def _by_code(self, text: str) -> tuple[str, str]:
        try:
            code = parse_code(text)
        except NotACode as unreadable:
            return "", unreadable.sentence
        if not code.startswith(KIT):
            return "", f"{grouped(code)} is not the code of a kit but of a part or lead."
        if code not in self._file.kits:
            return "", f"There is no kit {grouped(code)} here. Give a new kit a name of your own."
        return code, ""

    def _kind_fault(self, text: str, kind: str) -> str:
        if kind:
            return ""
        kinds = ", ".join(KIND_LABELS.values())
        if not text:
            return f"The kind is missing. Write one of these: {kinds}."
        if is_counted(text):
            return f"“{text[:60]}” are counted and have no serial: leave this row out."
        return f"“{text[:60]}” is no kind of part known here. Write one of these: {kinds}."

    def _serial_fault(self, row: SheetRow, kind: str, serial: str) -> str:
        if not serial:
            return "The serial is missing. Without one, write a mark on the part and give that."
        if len(serial) > LONGEST_SERIAL:
            return f"The serial is longer than {LONGEST_SERIAL} characters."
        if serial.startswith("="):
            return f"“{serial[:30]}” is a formula. Copy its result instead."
        above = self._seen.setdefault(part_key(kind, serial), row.number)
        if kind and above != row.number:
            return f"The same serial stands in row {above}."
        return ""

    def _outcome(
        self, kind: str, kit: str, new_kit: str, part: PartOnFile | None
    ) -> tuple[FleetOutcome, str]:
        """What becomes of a row without faults so far, or what is wrong with it after all."""
        if part is not None and part.kit == kit and not new_kit and (kit or part.sound_spare):
            return FleetOutcome.THERE, ""
        if part is not None and not part.sound_spare:
            where = f"in kit {grouped(part.kit)}" if part.kit else part.place
            advice = " Take it out there first, or correct the row." if part.kit else ""
            label = KIND_LABELS[kind].capitalize()
            return FleetOutcome.WRONG, f"{label} {grouped(part.code)} is {where}.{advice}"
        if fault := self._room_fault(kind, kit, new_kit):
            return FleetOutcome.WRONG, fault
        self._taken[kit or f"new {name_key(new_kit)}", kind] += 1
        return (FleetOutcome.NEW if part is None else FleetOutcome.SPARE), ""

    def _room_fault(self, kind: str, kit: str, new_kit: str) -> str:
        if not kit and not new_kit:
            return ""
        name, free = f"A new kit “{new_kit}”", self._file.free
        if kit:
            on_file = self._file.kits[kit]
            name, free = f"Kit {grouped(kit)}", on_file.free
            if not on_file.may_change:
                return f"{name} is {on_file.state}: its parts cannot be changed now."
        if self._taken[kit or f"new {name_key(new_kit)}", kind] >= free.get(kind, 0):
            return f"{name} has no free place for this {KIND_LABELS[kind]}."
        return ""
