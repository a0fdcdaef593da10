"""What other programs write comes to a score with one option at most, through the command."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from readiness.signal.command import main
from readiness.signal.readers import ColumnMap, preview

from .foreign import COUNT, FOREIGN, RATE, TRACE, Foreign

pytestmark = pytest.mark.any_database

NOISE_UV = float(TRACE.std()) * np.sqrt((0.4 * RATE - 20.0) / (0.5 * RATE))


def option_of(foreign: Foreign, folder: Path) -> list[str]:
    """The one option, or none; a column map as the plan's page saves it."""
    if not foreign.columns:
        return list(foreign.option)
    columns = ColumnMap(
        foreign.columns,
        preview(foreign.name, foreign.data).signature,
        foreign.rate_hz,
        full_scale_uv=foreign.full_scale_uv,
    )
    (folder / "columns.json").write_text(columns.to_json(), encoding="utf-8")
    return ["--map", str(folder / "columns.json")]


@pytest.mark.parametrize("name", FOREIGN)
def test_a_file_of_another_program_comes_to_a_score_with_one_option(name, tmp_path, capsys):
    foreign = FOREIGN[name]()
    path = tmp_path / foreign.name
    path.write_bytes(foreign.data)
    option = option_of(foreign, tmp_path)
    assert len(option) in (0, 2)
    main([str(path), "--json", "--test", "still", *option])
    answer = json.loads(capsys.readouterr().out)
    assert answer["refusal"] is None and answer["rate_hz"] == pytest.approx(RATE, abs=1e-6)
    (emg,) = (channel for channel in answer["channels"] if channel["role"] == "emg")
    assert emg["samples"] == COUNT
    assert emg["first"] == pytest.approx(list(TRACE[:3]), abs=foreign.within_uv + 5e-5)
    figures = {row["name"]: row["value"] for row in answer["measurements"]}
    assert figures["noise_full_band"] == pytest.approx(NOISE_UV, rel=0.03)
    assert {item["code"] for item in answer["findings"]} <= {"battery_missing"}
