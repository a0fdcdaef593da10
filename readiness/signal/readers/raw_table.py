"""What every format reader hands over: the file as it is, nothing decided."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property

import numpy as np

from readiness.signal.capture import Note

from .column_map import ColumnMap, signature_of

NOTHING = np.zeros(0)
NOTHING.flags.writeable = False


@dataclass(frozen=True)
class RawColumn:
    """A column or signal as its file describes it.

    Attributes
    ----------
    label : str
        As the file names it, or empty.
    name : str
        The label without a unit in it.
    unit : str
        Unit text in the label, in a unit field or below the label, or empty.
    unit_below : str
        Unit text below a label that has one in itself; both must agree. Else empty.
    rate_hz : float or None
        Samples per second, where the format gives each signal its own.
    resolution : float or None
        Converter step in ``unit``, where the format gives each signal its own.
    full_scale : tuple of float or None
        Lowest and highest value in ``unit``, likewise.
    of_full_scale : bool
        Its numbers are fractions of a full scale that the file does not know.
    converter_hz : float or None
        Samples per second before the reader decimated them.
    """

    label: str
    name: str
    unit: str
    unit_below: str = ""
    rate_hz: float | None = None
    resolution: float | None = None
    full_scale: tuple[float, float] | None = None
    of_full_scale: bool = False
    converter_hz: float | None = None


@dataclass(frozen=True, eq=False)
class Gaps:
    """Places where samples lack: ``at_s`` counts recorded time without the gaps before it, and
    ``lacking_s`` lack there; both of shape (g,), seconds.
    """

    at_s: np.ndarray = field(default_factory=lambda: NOTHING)
    lacking_s: np.ndarray = field(default_factory=lambda: NOTHING)


@dataclass(frozen=True, eq=False)
class Readings:
    """The numbers of a file.

    Attributes
    ----------
    samples : tuple of numpy.ndarray
        One for each column, shape (n,), float64, in the column's own unit; NaN where the file has
        no finite number.
    gaps : Gaps
        Where the format itself says that samples lack (a time column says it elsewhere).
    notes : tuple of Note
        What the format's own times say beyond gaps.
    converted : tuple of numpy.ndarray
        Where the reader decimated the samples: as many of them as the converter gave them. Checks
        on values count on neighbours that differ, which those of a sound card hardly do.
    """

    samples: tuple[np.ndarray, ...]
    gaps: Gaps = field(default_factory=Gaps)
    notes: tuple[Note, ...] = ()
    converted: tuple[np.ndarray, ...] = ()


@dataclass(frozen=True, eq=False)
class RawTable:
    """A file, opened.

    Attributes
    ----------
    format : str
        ``"text"``, or the name the format gives itself (``"EDF+C"``).
    columns : tuple of RawColumn
        As they stand in the file.
    words : mapping
        Header keys and their texts.
    load : callable
        Reads the numbers; see ``readings``.
    column_word, emg_words : str
        What the format calls a column (``"column"``, ``"signal"``), and the one of the EMG.
    has_names : bool
        Whether the file names its columns.
    ambiguous_row : str
        A row that can be read in two ways; empty where the text leaves no doubt.
    first_line : int or None
        Line of the first sample in a text, counted from 1.
    first_rows : tuple
        The first rows as the file writes them; empty where it writes no rows.
    started : datetime or None
        Start of the recording by a field of the format.
    delimiter, decimal, encoding : str
        How a text is written.
    """

    format: str
    columns: tuple[RawColumn, ...]
    words: Mapping[str, str]
    load: Callable[[], Readings]
    column_word: str = "column"
    emg_words: str = "the EMG column"
    has_names: bool = True
    ambiguous_row: str = ""
    first_line: int | None = None
    first_rows: tuple[tuple[str, ...], ...] = ()
    started: datetime | None = None
    delimiter: str = ""
    decimal: str = ""
    encoding: str = ""

    @cached_property
    def readings(self) -> Readings:
        """The numbers, read when first asked for: a question about the columns then comes before a
        complaint about a row far below, and a preview need not read on.
        """
        return self.load()

    @property
    def signature(self) -> str:
        """Header signature, by which a column map knows its files."""
        labels = [column.label for column in self.columns]
        return signature_of(labels if self.has_names else None, len(labels))

    @property
    def has_own_rates(self) -> bool:
        """Whether the format gives each signal its rate, so that no time column is needed."""
        return any(column.rate_hz is not None for column in self.columns)


@dataclass(frozen=True)
class FormatReader:
    """A file format: ``recognises(head, name)`` by the first bytes and the file's name, and
    ``open_table(data, column_map)``, where the map only decides what a text leaves open.
    """

    recognises: Callable[[bytes, str], bool]
    open_table: Callable[[bytes, ColumnMap | None], RawTable]
