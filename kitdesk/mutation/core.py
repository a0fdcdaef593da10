"""The modules whose every line must be held by a test, each with the tests that concern it."""

from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent


@dataclass(frozen=True)
class CoreModule:
    """A module and the test files that judge it."""

    name: str
    tests: tuple[str, ...]

    @property
    def path(self) -> Path:
        """Its source file."""
        return ROOT.joinpath(*self.name.split(".")).with_suffix(".py")


CORE = (
    CoreModule(
        "rentals.lifecycle",
        ("tests/rentals/test_lifecycle.py", "tests/rentals/test_life_table.py"),
    ),
    CoreModule("rentals.codes", ("tests/rentals/test_codes.py",)),
    CoreModule("rentals.planning.settlement", ("tests/rentals/planning/test_settlement.py",)),
    CoreModule(
        "readiness.signal.statistics.decision",
        (
            "tests/readiness/signal/statistics/test_decision.py",
            "tests/external/test_decision_values.py",
        ),
    ),
    CoreModule("readiness.judgement.combining", ("tests/readiness/judgement/test_combining.py",)),
)
