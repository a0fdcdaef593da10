from io import StringIO

import pytest
from django.core.management import call_command

from rentals.planning.season_report import calibration_lines
from rentals.planning.season_study import CalibrationRow, LawCalibration

pytestmark = pytest.mark.any_database


def test_a_share_outside_the_goal_is_named():
    found = LawCalibration("steady", trends=1, seasons=100)
    found.nine_in_ten = CalibrationRow(100, 90.0, 86.0)
    found.runs[3].add(0.35, True)
    text = "\n".join(calibration_lines([found]))
    assert "steady (100 seasons; a clear trend seen in 1.0%)" in text
    assert "came true in 86.0% of 100, NOT within 87% to 93%" in text
    assert "whole runs served     35%" in text
    found.nine_in_ten.true = 90.0
    assert "of 100, within" in "\n".join(calibration_lines([found]))


def test_the_command_prints_each_law_and_says_how_far_it_is():
    out, err = StringIO(), StringIO()
    call_command("study_plan", seasons=2, workers=1, stdout=out, stderr=err)
    assert out.getvalue().count("stated at 90 %") == 6
    assert "with a trend: 2 of 2 seasons" in err.getvalue()
