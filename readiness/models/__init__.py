"""All nouns of the bench, by name."""

from .captures import Capture, TurnedAway, Upload
from .check_kits import CheckKit
from .guided import GuidedRound
from .plans import BenchPlan
from .rounds import BenchTest
from .sample_marks import CaptureMark
from .student_captures import StudentCapture
from .verdicts import Verdict

__all__ = [
    "BenchPlan",
    "BenchTest",
    "Capture",
    "CaptureMark",
    "CheckKit",
    "GuidedRound",
    "StudentCapture",
    "TurnedAway",
    "Upload",
    "Verdict",
]
