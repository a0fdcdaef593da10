"""The ``score`` command: arguments, one answer a file, exit status. No Django."""

from __future__ import annotations

import argparse
import json
import re
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TextIO

from .capture import Declared
from .catalogue import CATALOGUE
from .errors import CaptureRefused
from .kits_of_files import judge_kits, kit_in_words, kit_to_json
from .limits import Limits, judged_band_hz
from .readers import join, paired
from .readers.column_map import SAID_BY_A_MAP, ColumnMap
from .readers.facts import number
from .readers.limits import read_bytes
from .readers.named_columns import NAMED_ROLES
from .readers.units import find_unit
from .result import Report
from .samples_seen import SamplesSeen
from .score import score_file
from .statistics.decision import FIT

ALL_FIT, SOME_NOT_FIT, SOME_NOT_READABLE = 0, 1, 2


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command; the options speak for files that do not say it themselves."""
    parser.add_argument(
        "files",
        nargs="+",
        metavar="FILE",
        help="capture files (CSV, TSV, TXT, EDF, BDF, WAV, or .hea with .dat)",
    )
    parser.add_argument("--json", action="store_true", help="one JSON object a line, for scripts")
    parser.add_argument("--test", choices=tuple(CATALOGUE), help="which bench test the files are")
    parser.add_argument("--rate", type=float, metavar="HZ", help="samples per second")
    parser.add_argument("--unit", help="unit of the signal: V, mV, uV, nV")
    for role in NAMED_ROLES:
        parser.add_argument(
            f"--{role}-column",
            metavar="NAME",
            help=f"{role} column by its label, or by its number from 1; 'NAME (V)' says its unit",
        )
    parser.add_argument(
        "--full-scale", metavar="VOLTAGE", help="voltage at full scale of a WAV file, such as 5mV"
    )
    parser.add_argument(
        "--map",
        action="append",
        default=[],
        metavar="FILE",
        help="column maps saved from a test plan (JSON), for files with their columns",
    )
    parser.add_argument("--mains", type=float, metavar="HZ", help="mains frequency, 50 or 60")
    parser.add_argument(
        "--battery", type=float, metavar="V", help="battery voltage under load, from a meter"
    )
    parser.add_argument(
        "--limit",
        type=float,
        metavar="UV",
        help="noise limit over 20-450 Hz, microvolts RMS (default 2)",
    )
    _add_amplifier(parser)
    parser.add_argument(
        "--moved",
        action="store_true",
        help="each lead was moved through its window in flex; counts where the amplifier hides it",
    )
    parser.add_argument("--kit", help="kit code")
    parser.add_argument(
        "--kits", action="store_true", help="after the captures one line more for each kit"
    )
    parser.add_argument(
        "--from",
        "--window",
        dest="window",
        type=float,
        metavar="SECONDS",
        help="second at which the ten of a longer capture begin",
    )


def _add_amplifier(parser: argparse.ArgumentParser) -> None:
    """What the amplifier itself does to the signal."""
    parser.add_argument(
        "--high-pass", type=float, metavar="HZ", help="high-pass of the amplifier, 0 for none"
    )
    parser.add_argument(
        "--low-pass", type=float, metavar="HZ", help="low-pass of the amplifier, where it is narrow"
    )
    parser.add_argument(
        "--notch",
        choices=("yes", "no"),
        help="whether the amplifier itself takes the mains out",
    )


def run(options: argparse.Namespace, out: TextIO | None = None) -> int:
    """Score the files of parsed ``options``, write the answers to ``out``, return the exit
    status.
    """
    out = out or sys.stdout
    declared = _declared(options)
    maps = [columns for name in options.map for columns in _read_maps(name)]
    noise_uv = Limits.noise_uv if options.limit is None else options.limit
    limits = Limits(
        noise_uv=noise_uv,
        high_pass_hz=options.high_pass,
        low_pass_hz=options.low_pass,
        notch=None if options.notch is None else options.notch == "yes",
    )
    status = ALL_FIT
    reports = []
    seen = SamplesSeen()
    for name, partner in paired(options.files):
        report = _scored(name, partner, declared, maps, limits)
        if len(options.files) > 1:
            report = seen.compared(report)
        text = (
            json.dumps(report.to_json(), allow_nan=False)
            if options.json
            else in_words(report, limits)
        )
        out.write(text + "\n")
        status = max(status, _status(report))
        reports.append(report)
    if options.kits:
        status = max(status, _write_kits(reports, as_json=options.json, out=out))
    return status


def _declared(options: argparse.Namespace) -> Declared:
    """What the options say of files that do not say it themselves."""
    return Declared(
        test=options.test,
        rate_hz=options.rate,
        unit=options.unit,
        mains_hz=options.mains,
        battery_v=options.battery,
        kit=options.kit,
        window_start_s=options.window,
        emg_column=options.emg_column,
        time_column=options.time_column,
        battery_column=options.battery_column,
        full_scale_uv=_full_scale_uv(options.full_scale) if options.full_scale else None,
        moved=options.moved,
    )


def _read_maps(name: str) -> list[ColumnMap]:
    """The column map in a file, or the list of them; ``ValueError`` in words where there is
    none.
    """
    try:
        stored = json.loads(read_bytes(name).decode("utf-8-sig"))
        several = stored if isinstance(stored, list) and stored else [stored]
        return [ColumnMap.from_json(json.dumps(column_map)) for column_map in several]
    except ValueError as trouble:
        raise ValueError(f"--map {name}: {trouble}") from trouble


def _scored(
    name: str,
    partner: str | None,
    declared: Declared,
    maps: Sequence[ColumnMap],
    limits: Limits,
) -> Report:
    """The report of a file, or of a header and its signal file, read with the first of ``maps``
    that is made for its columns.
    """
    first = replace(declared, columns=maps[0]) if maps else declared
    try:
        data = _joined(name, partner) if partner else None
    except CaptureRefused as refused:
        return Report(name, False, refused.sentence, "", None, None)
    report = score_file(name, data, declared=first, limits=limits)
    for columns in maps[1:]:
        if report.missing not in SAID_BY_A_MAP:
            break
        report = score_file(name, data, replace(declared, columns=columns), limits)
    return report


def _joined(name: str, partner: str) -> bytes:
    return join(Path(name).name, read_bytes(name), Path(partner).name, read_bytes(partner))


def _full_scale_uv(text: str) -> float:
    """Microvolts of a voltage such as ``5mV``."""
    written = re.fullmatch(r"\s*([\d.]+)\s*(\S+)\s*", text)
    value = number(written[1]) if written else None
    unit = find_unit(written[2]) if written else None
    if value is None or value <= 0.0 or unit is None or unit.kind != "voltage":
        raise ValueError(f"--full-scale takes a voltage with its unit, such as 5mV, not {text!r}")
    return value * unit.factor


def _write_kits(reports: Sequence[Report], *, as_json: bool, out: TextIO) -> int:
    """One line for each kit; the exit status that follows from them."""
    status = ALL_FIT
    for kit, verdict in judge_kits(reports):
        text = (
            json.dumps(kit_to_json(kit, verdict), allow_nan=False)
            if as_json
            else kit_in_words(kit, verdict)
        )
        out.write(text + "\n")
        status = max(status, ALL_FIT if verdict.verdict == FIT else SOME_NOT_FIT)
    return status


def in_words(report: Report, limits: Limits) -> str:
    """A report for people: verdict, scores, what was found and the next action; ``limits`` are
    those it was judged against.
    """
    if report.result is None:
        return f"{report.file}: not readable\n  {report.refusal}"
    result = report.result
    kit = f"kit {report.capture.kit}, " if report.capture and report.capture.kit else ""
    scores = ", ".join(
        f"{name} {value:g}" if value is not None else f"{name} not judged"
        for name, value in vars(result.scores).items()
    )
    lines = [f"{report.file}: {result.verdict.upper()} ({kit}{result.test})", f"  scores: {scores}"]
    for item in result.findings:
        lines += [f"  {item.verdict}: {item.text}", f"    -> {item.action}"]
    for row in result.measurements:
        spread = (
            f" ({row.low:.4g} to {row.high:.4g})"
            if row.low is not None and row.high is not None
            else ""
        )
        limit = f", limit {row.limit:.4g}" if row.limit is not None else ""
        lines.append(f"  {row.name.replace('_', ' ')}: {row.value:.4g} {row.unit}{spread}{limit}")
    if result.value_of("noise_full_band") is not None and report.capture:
        band = judged_band_hz(report.capture.rate_hz)
        lines.append(f"  noise limit: {limits.noise_in_words(*band)}")
    return "\n".join(lines)


def main(argv: Sequence[str] | None = None) -> int:
    """Parse ``argv`` and run; the way in without Django."""
    parser = argparse.ArgumentParser(prog="python -m readiness.signal", description=__doc__)
    add_arguments(parser)
    try:
        return run(parser.parse_args(argv))
    except ValueError as trouble:
        parser.error(str(trouble))


def _status(report: Report) -> int:
    if report.result is None:
        return SOME_NOT_READABLE
    return ALL_FIT if report.result.verdict == FIT else SOME_NOT_FIT
