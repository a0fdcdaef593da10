"""The column map: which column is what, made once on a preview page and kept for the kit type."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass

from readiness.signal.capture import ROLES

from .units import find_unit

SAID_BY_A_MAP = ("column", "unit", "rate", "scale")
"""Facts that a column map can add to a file."""
DELIMITERS = (",", ";", "\t", " ")
DECIMAL_MARKS = (".", ",")


@dataclass(frozen=True)
class MappedColumn:
    """One column: position from 0, role of ``capture.ROLES``, unit text (empty where the role needs
    none).
    """

    index: int
    role: str
    unit: str = ""


@dataclass(frozen=True)
class ColumnMap:
    """Which column is what, for files whose header signature is ``signature``.

    Attributes
    ----------
    columns : tuple of MappedColumn
        Exactly one of role ``emg``, at most one each of ``battery`` and ``time``; columns left out
        are ``other``.
    signature : str
        ``Preview.signature`` of the files it fits; a file with another header is read without the
        map.
    rate_hz : float or None
        Samples per second, for files that have neither a rate nor a time column.
    full_scale_uv : float or None
        Microvolts at full scale, for files of fractions.
    delimiter, decimal : str
        Needed only where the text leaves them open; empty: found from the text.

    Raises
    ------
    ValueError
        On construction, for a map no file could be read with.
    """

    columns: tuple[MappedColumn, ...]
    signature: str
    rate_hz: float | None = None
    delimiter: str = ""
    decimal: str = ""
    full_scale_uv: float | None = None

    def __post_init__(self) -> None:
        roles = [column.role for column in self.columns]
        indices = [column.index for column in self.columns]
        if set(roles) - set(ROLES):
            raise ValueError(f"roles are {', '.join(ROLES)}, got {sorted(set(roles) - set(ROLES))}")
        if roles.count("emg") != 1 or roles.count("battery") > 1 or roles.count("time") > 1:
            raise ValueError(
                "a column map names one EMG column and at most one battery and one time column"
            )
        if len(set(indices)) != len(indices) or any(index < 0 for index in indices):
            raise ValueError(f"column positions must differ and count from 0, got {indices}")
        for column in self.columns:
            _check_unit(column)
        if self.rate_hz is not None and not 0.0 < self.rate_hz < float("inf"):
            raise ValueError(f"the rate must be above zero, got {self.rate_hz}")
        if self.full_scale_uv is not None and not 0.0 < self.full_scale_uv < float("inf"):
            raise ValueError(f"the full scale must be above zero, got {self.full_scale_uv}")
        if self.delimiter and self.delimiter not in DELIMITERS:
            raise ValueError(
                f"the delimiter is a comma, semicolon, tab or space, got {self.delimiter!r}"
            )
        if self.decimal and self.decimal not in DECIMAL_MARKS:
            raise ValueError(f"the decimal mark is a point or a comma, got {self.decimal!r}")

    def fits(self, signature: str) -> bool:
        """Whether a file of this header signature is read with the map."""
        return signature == self.signature

    def roles(self, count: int) -> list[str]:
        """Role of each of ``count`` columns."""
        roles = ["other"] * count
        for column in self.columns:
            if column.index < count:
                roles[column.index] = column.role
        return roles

    def unit(self, index: int) -> str:
        """Unit text the map gives to a column, or empty."""
        return next((column.unit for column in self.columns if column.index == index), "")

    def to_json(self) -> str:
        """The map as JSON text."""
        return json.dumps(asdict(self), sort_keys=True)

    @classmethod
    def from_json(cls, text: str) -> ColumnMap:
        """Read a map that ``to_json`` wrote; ``ValueError`` for anything else."""
        try:
            stored = json.loads(text)
            if not isinstance(stored, Mapping):
                raise TypeError("the text holds no object")
            columns = tuple(
                MappedColumn(int(column["index"]), str(column["role"]), str(column["unit"]))
                for column in stored["columns"]
            )
            return cls(
                columns,
                signature=str(stored["signature"]),
                rate_hz=_float_or_none(stored["rate_hz"]),
                delimiter=str(stored["delimiter"]),
                decimal=str(stored["decimal"]),
                full_scale_uv=_float_or_none(stored.get("full_scale_uv")),
            )
        except (KeyError, TypeError, RecursionError) as error:
            raise ValueError(f"this is no column map: {error}") from error


def _float_or_none(value: float | None) -> float | None:
    return None if value is None else float(value)


def signature_of(names: Sequence[str] | None, count: int) -> str:
    """Header signature of a file: its column names in order, or only their number where it has
    none.
    """
    if names is None:
        return f"{count} columns without names"
    return "|".join(" ".join(name.split()).casefold().replace("|", "/") for name in names)


def _check_unit(column: MappedColumn) -> None:
    unit = find_unit(column.unit)
    if column.role == "emg" and column.unit and (unit is None or unit.kind != "voltage"):
        raise ValueError(f"the EMG column takes V, mV, uV or nV, got {column.unit!r}")
    if column.role == "battery" and (unit is None or unit.text not in ("V", "mV")):
        raise ValueError(f"the battery column takes V or mV, got {column.unit!r}")
    if column.role == "time" and column.unit and (unit is None or unit.kind != "time"):
        raise ValueError(f"the time column takes s, ms or us, got {column.unit!r}")
