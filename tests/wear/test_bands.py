"""Forecast bands hold what they promise on wear that is not the model's own."""

from __future__ import annotations

import runpy
from pathlib import Path


def test_bands_hold_on_simulated_fleets() -> None:
    bench = runpy.run_path(str(Path(__file__).parents[1] / "bench" / "wear_coverage.py"))
    table = bench["by_size"](bench["run"]())
    assert table["goals_met"].all(), table.to_string()
