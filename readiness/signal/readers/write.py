"""Kitdesk's own capture forms, written: CSV with header lines, and EDF or BDF through edfio."""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import datetime
from typing import Any

import numpy as np

from readiness.signal.catalogue import CATALOGUE

from .units import find_unit


def write_csv(
    samples_uv: np.ndarray,
    rate_hz: float,
    *,
    test: str,
    kit: str | None = None,
    unit: str = "uV",
    mains_hz: float | None = None,
    battery_v: float | np.ndarray | None = None,
    resolution_uv: float | None = None,
    full_scale_uv: float | None = None,
    taken: datetime | None = None,
    with_time: bool = True,
    decimals: int = 4,
) -> bytes:
    """A capture in Kitdesk's CSV form.

    Parameters
    ----------
    samples_uv : numpy.ndarray
        Shape (n,), microvolts. NaN is written as an empty cell.
    rate_hz : float
        Samples per second.
    unit : str
        Unit to write the EMG in (V, mV, uV, nV); ``decimals`` count in microvolts whatever the
        unit.
    battery_v : float or numpy.ndarray, optional
        One voltage (header line) or one for each sample (column).
    resolution_uv, full_scale_uv : float, optional
        Converter step and +- full scale, microvolts; written in ``unit``.

    Returns
    -------
    bytes
        UTF-8 text with ``\\n`` line ends.

    Raises
    ------
    ValueError
        A unit that is no voltage, a test that is none, a battery column of another length.
    """
    known = find_unit(unit)
    if known is None or known.kind != "voltage":
        raise ValueError(f"unit must be V, mV, uV or nV, got {unit!r}")
    column = battery_v if isinstance(battery_v, np.ndarray) and battery_v.size > 1 else None
    scale = 1.0 / known.factor
    facts = {
        "kit": kit,
        "test": _checked_test(test),
        "rate_hz": _plain(rate_hz),
        "unit": known.text,
        "resolution": None if resolution_uv is None else _plain(resolution_uv * scale),
        "range": None if full_scale_uv is None else _plain(full_scale_uv * scale),
        "mains_hz": None if mains_hz is None else _plain(mains_hz),
        "battery_v": (
            _plain(float(np.ravel(battery_v)[0]))
            if column is None and battery_v is not None
            else None
        ),
        "taken": None if taken is None else taken.isoformat(timespec="seconds"),
    }
    head = [f"# {key}: {value}" for key, value in facts.items() if value is not None]
    values = np.asarray(samples_uv, dtype=np.float64) * scale
    places = max(0, decimals + round(np.log10(known.factor)))
    columns = [("emg", values, places)]
    if with_time:
        columns.insert(0, ("t_s", np.arange(len(values)) / rate_hz, 6))
    if column is not None:
        columns.append(("battery_v", np.asarray(column, dtype=np.float64), 3))
    return "\n".join([*head, *_rows(columns), ""]).encode()


def write_edf(
    samples_uv: np.ndarray,
    rate_hz: float,
    *,
    test: str,
    kit: str | None = None,
    mains_hz: float | None = None,
    battery_v: float | np.ndarray | None = None,
    battery_rate_hz: float = 1.0,
    full_scale_uv: tuple[float, float] = (-5000.0, 5000.0),
    digital_range: tuple[int, int] | None = None,
    taken: datetime | None = None,
    label: str = "EMG",
    bdf: bool = False,
) -> bytes:
    """A capture as EDF or BDF, its facts as ``key=value`` words in the recording field.

    Parameters
    ----------
    samples_uv : numpy.ndarray
        Shape (n,), microvolts, finite and within ``full_scale_uv``; rounded to the converter's
        steps.
    battery_v : float or numpy.ndarray, optional
        One voltage (a word), or a channel of ``battery_rate_hz`` that lasts as long as the EMG.
    digital_range : tuple of int, optional
        Lowest and highest code; the whole 16 or 24 bits without it.

    Returns
    -------
    bytes
        The whole file.

    Raises
    ------
    ValueError
        Samples outside the range, words that do not fit the 80 characters of the field, unequal
        channel lengths.
    """
    import edfio  # 30 ms, needed only where EDF is written

    column = battery_v if isinstance(battery_v, np.ndarray) and battery_v.size > 1 else None
    single = None if column is not None or battery_v is None else float(np.ravel(battery_v)[0])
    said = {"kit": kit, "test": _checked_test(test), "mains_hz": mains_hz, "battery_v": single}
    words = [
        f"{k}={v if isinstance(v, str) else _plain(v)}" for k, v in said.items() if v is not None
    ]
    signal_class = edfio.BdfSignal if bdf else edfio.EdfSignal
    codes: dict[str, Any] = {} if digital_range is None else {"digital_range": digital_range}
    signals: list[Any] = [
        signal_class(
            np.asarray(samples_uv, dtype=np.float64),
            rate_hz,
            label=label,
            physical_dimension="uV",
            physical_range=full_scale_uv,
            **codes,
        )
    ]
    if column is not None:
        volts = np.asarray(column, dtype=np.float64)
        signals.append(
            signal_class(
                volts,
                battery_rate_hz,
                label="battery",
                physical_dimension="V",
                physical_range=(0.0, 8.0),
            )
        )
    start = taken.date() if taken else None
    recording = edfio.Recording(startdate=start, additional=words)
    clock = taken.time().replace(microsecond=0, tzinfo=None) if taken else None
    file = (edfio.Bdf if bdf else edfio.Edf)(signals, recording=recording, starttime=clock)
    stream = io.BytesIO()
    file.write(stream)
    return stream.getvalue()


def _checked_test(test: str) -> str:
    if test not in CATALOGUE:
        raise ValueError(f"test must be one of {', '.join(CATALOGUE)}, got {test!r}")
    return test


def _plain(value: float) -> str:
    return np.format_float_positional(float(f"{value:.10g}"), trim="-")


def _rows(columns: Sequence[tuple[str, np.ndarray, int]]) -> list[str]:
    """Names row and one row for each sample; NaN as an empty cell."""
    names = ",".join(name for name, _, _ in columns)
    form = ",".join(f"%.{places}f" for _, _, places in columns)
    rows = [form % row for row in zip(*(values.tolist() for _, values, _ in columns), strict=True)]
    if any(np.isnan(values).any() for _, values, _ in columns):
        rows = [row.replace("nan", "") for row in rows]
    return [names, *rows]
