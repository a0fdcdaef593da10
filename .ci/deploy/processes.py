"""What processes take, as Linux counts it: processor time by group, memory of their own."""

from __future__ import annotations

import os
from pathlib import Path

_TICKS = os.sysconf("SC_CLK_TCK")


def processor_s_of_group(group: int) -> float:
    """Processor time of the living processes of a group so far, in seconds."""
    return sum(ticks for _, its, ticks in _all_processes() if its == group) / _TICKS


def numbers_of_group(group: int) -> list[int]:
    """Numbers of the living processes of a group."""
    return sorted(number for number, its, _ in _all_processes() if its == group)


def own_mb(number: int) -> float:
    """Memory that a process shares with no other, in MB. Raises OSError where it has ended."""
    lines = Path(f"/proc/{number}/smaps_rollup").read_text(encoding="ascii").splitlines()
    kilobytes = [int(line.split()[1]) for line in lines if line.startswith("Private_")]
    return sum(kilobytes) / 1000


def _all_processes() -> list[tuple[int, int, int]]:
    """Number, group and clock ticks of every process."""
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            facts = (folder / "stat").read_text(encoding="utf-8").rpartition(")")[2].split()
        except OSError:
            continue
        found.append((int(folder.name), int(facts[2]), int(facts[11]) + int(facts[12])))
    return found
