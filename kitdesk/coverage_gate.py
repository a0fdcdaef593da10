"""Judges what the tests reach: prints a table by package and says whether every goal is met.

Lines and branches count together, as coverage.py counts them.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

BASE_DIR = Path(__file__).resolve().parent.parent
GOALS = {
    "rentals/actions": 95.0,
    "rentals/planning": 95.0,
    "rentals/lifecycle.py": 95.0,
    "readiness/signal": 95.0,
    "": 90.0,
}
"""Percent that a file or folder must reach; the empty path is the whole product."""


@dataclass(frozen=True)
class Reach:
    """What was reached and what there is: statements and branches."""

    lines: int = 0
    lines_of: int = 0
    branches: int = 0
    branches_of: int = 0

    def __add__(self, other: Reach) -> Reach:
        return Reach(
            self.lines + other.lines,
            self.lines_of + other.lines_of,
            self.branches + other.branches,
            self.branches_of + other.branches_of,
        )

    @property
    def percent(self) -> float:
        """Lines and branches together; 100 where there are none."""
        return _percent(self.lines + self.branches, self.lines_of + self.branches_of)


def check_coverage(data_file: Path) -> bool:
    """Print the table of a finished run; True when every goal is met."""
    files = _read(data_file)
    print("\nReached by the tests        lines   branches   together")
    for folder in sorted({_package(path) for path in files}):
        print(_row(folder, _total(files, folder)))
    print()
    met = [_judge(files, path, goal) for path, goal in GOALS.items()]
    return all(met)


def _read(data_file: Path) -> dict[str, Reach]:
    """What was reached in each file, by its path below the project's folder."""
    from coverage import Coverage

    measured = Coverage(data_file=str(data_file), config_file=str(BASE_DIR / "pyproject.toml"))
    measured.load()
    with tempfile.TemporaryDirectory() as folder:
        report = Path(folder, "coverage.json")
        measured.json_report(outfile=str(report))
        files = json.loads(report.read_text(encoding="utf-8"))["files"]
    return {Path(name).as_posix(): _reach(file["summary"]) for name, file in files.items()}


def _reach(summary: Mapping[str, int]) -> Reach:
    return Reach(
        summary["covered_lines"],
        summary["num_statements"],
        summary["covered_branches"],
        summary["num_branches"],
    )


def _package(path: str) -> str:
    """``rentals/actions`` for a file at any depth of it, ``rentals`` for one directly in it."""
    return "/".join(path.split("/")[:-1][:2])


def _total(files: Mapping[str, Reach], folder: str) -> Reach:
    return _sum(reach for path, reach in files.items() if _package(path) == folder)


def _sum(reaches: Iterable[Reach]) -> Reach:
    return sum(reaches, Reach())


def _row(name: str, reach: Reach) -> str:
    lines = _percent(reach.lines, reach.lines_of)
    branches = _percent(reach.branches, reach.branches_of)
    return f"{name:<26} {lines:5.1f} %    {branches:5.1f} %    {reach.percent:5.1f} %"


def _judge(files: Mapping[str, Reach], path: str, goal: float) -> bool:
    inside = _sum(
        reach
        for name, reach in files.items()
        if not path or name == path or name.startswith(f"{path}/")
    )
    met = inside.lines_of > 0 and inside.percent >= goal
    verdict = "met" if met else "MISSED"
    print(f"{_row(path or 'all', inside)}    goal {goal:g} %: {verdict}")
    return met


def _percent(part: int, whole: int) -> float:
    return 100 * part / whole if whole else 100.0
