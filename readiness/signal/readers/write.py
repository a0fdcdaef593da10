"""Kitdesk's own capture forms, written: CSV with header lines, and EDF or BDF through edfio."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

import numpy as np

from readiness.signal.catalogue import CATALOGUE

from .units import find_unit

TIME_PLACES = 6
BATTERY_PLACES = 3
BATTERY_RANGE_V = (0.0, 8.0)


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
    signal_unit = find_unit(unit)
    if signal_unit is None or signal_unit.kind != "voltage":
        raise ValueError(f"unit must be V, mV, uV or nV, got {unit!r}")
    scale = 1.0 / signal_unit.factor
    volts, single_volt = _battery(battery_v)
    facts = {
        "kit": kit,
        "test": _checked_test(test),
        "rate_hz": rate_hz,
        "unit": signal_unit.text,
        "resolution": None if resolution_uv is None else resolution_uv * scale,
        "range": None if full_scale_uv is None else full_scale_uv * scale,
        "mains_hz": mains_hz,
        "battery_v": single_volt,
        "taken": None if taken is None else taken.isoformat(timespec="seconds"),
    }
    values = np.asarray(samples_uv, dtype=np.float64) * scale
    places = max(0, decimals + round(np.log10(signal_unit.factor)))
    columns = [("emg", values, places)]
    if with_time:
        columns.insert(0, ("t_s", np.arange(len(values)) / rate_hz, TIME_PLACES))
    if volts is not None:
        columns.append(("battery_v", volts, BATTERY_PLACES))
    head = [f"# {key}: {text}" for key, text in _texts(facts).items()]
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

    volts, single_volt = _battery(battery_v)
    facts = {
        "kit": kit,
        "test": _checked_test(test),
        "mains_hz": mains_hz,
        "battery_v": single_volt,
    }
    words = [f"{key}={text}" for key, text in _texts(facts).items()]
    signal_class = edfio.BdfSignal if bdf else edfio.EdfSignal
    codes: dict[str, Any] = {} if digital_range is None else {"digital_range": digital_range}
    emg = signal_class(
        np.asarray(samples_uv, dtype=np.float64),
        rate_hz,
        label=label,
        physical_dimension="uV",
        physical_range=full_scale_uv,
        **codes,
    )
    signals: list[Any] = [emg]
    if volts is not None:
        battery = signal_class(
            volts,
            battery_rate_hz,
            label="battery",
            physical_dimension="V",
            physical_range=BATTERY_RANGE_V,
        )
        signals.append(battery)
    day = taken.date() if taken else None
    clock = taken.time().replace(microsecond=0, tzinfo=None) if taken else None
    recording = edfio.Recording(startdate=day, additional=words)
    file = (edfio.Bdf if bdf else edfio.Edf)(signals, recording=recording, starttime=clock)
    stream = io.BytesIO()
    file.write(stream)
    return stream.getvalue()


def _battery(
    battery_v: float | np.ndarray | None,
) -> tuple[np.ndarray | None, float | None]:
    """The battery as a column, or as the one voltage there is."""
    if battery_v is None:
        return None, None
    volts = np.ravel(np.asarray(battery_v, dtype=np.float64))
    return (None, float(volts[0])) if volts.size == 1 else (volts, None)


def _texts(facts: Mapping[str, str | float | None]) -> dict[str, str]:
    """The facts that are known, as texts."""
    present = {key: value for key, value in facts.items() if value is not None}
    return {
        key: value if isinstance(value, str) else _plain(value) for key, value in present.items()
    }


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
    cells = zip(*(values.tolist() for _, values, _ in columns), strict=True)
    rows = [form % row for row in cells]
    if any(np.isnan(values).any() for _, values, _ in columns):
        rows = [row.replace("nan", "") for row in rows]
    return [names, *rows]
