"""The sample files say what stands beside them."""

import json
from pathlib import Path

import pytest

from readiness.signal.score import score_file
from rentals.roster.columns import match_columns
from rentals.roster.reading import read_roster

FIXTURES = Path(__file__).resolve().parent.parent / "fixtures"
TRUTH = json.loads((FIXTURES / "captures" / "truth.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", sorted(TRUTH))
def test_a_sample_capture_scores_as_it_is(name):
    report = score_file(FIXTURES / "captures" / name).to_json()
    assert (report["kit"], report["test"], report["verdict"]) == (
        "K0001O",
        TRUTH[name]["test"],
        TRUTH[name]["verdict"],
    )
    assert [found["code"] for found in report["findings"]] == TRUTH[name]["findings"]


def test_no_sample_lacks_its_truth():
    assert {path.name for path in (FIXTURES / "captures").iterdir()} == {*TRUTH, "truth.json"}


def test_the_sample_roster_is_read():
    sheet = read_roster((FIXTURES / "rosters" / "roster.csv").read_bytes())
    assert match_columns(sheet).fields["email"] == 1
