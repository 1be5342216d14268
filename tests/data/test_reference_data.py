"""The published data in the input form are those that were published."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import trendwear
from trendwear.bundled import bundled_folder
from trendwear.fit.own_line import fit_line
from trendwear.readings.form import SHEETS

DATA = bundled_folder("data")
PUBLISHED = Path(__file__).parents[1] / "reference" / "published"
FOLDERS = ("crack_growth", "cylinder_liners", "sliding_wear")


def readings(folder: str) -> pd.DataFrame:
    return pd.read_csv(DATA / folder / "readings.csv")


@pytest.mark.parametrize(
    ("folder", "machines", "published"),
    [("cylinder_liners", 21, 41), ("crack_growth", 21, 262), ("sliding_wear", 12, 96)],
)
def test_nothing_is_missing(folder: str, machines: int, published: int) -> None:
    rows = readings(folder)
    added = (rows["run_hours"] == 0) & (folder != "crack_growth")
    assert rows["machine"].nunique() == machines
    assert (~added).sum() == published
    assert (rows.loc[rows["run_hours"] == 0, "uncertainty"] == 0).all()
    assert (rows["run_hours"] == 0).sum() == machines


@pytest.mark.parametrize("folder", FOLDERS)
def test_columns_are_those_of_the_form(folder: str) -> None:
    for path in (DATA / folder).iterdir():
        form = SHEETS[path.stem]
        columns = set(pd.read_csv(path, nrows=0).columns)
        assert set(form.needs) <= columns <= set(form.names), path


@pytest.mark.parametrize("folder", FOLDERS)
def test_neighbours_are_no_one_opening(folder: str) -> None:
    apart = readings(folder).groupby("machine")["run_hours"].diff().dropna()
    assert (apart > 24).all()


def test_cracks_reach_their_limit_when_the_source_says() -> None:
    """Lu and Meeker 1993, Table 1: 12 of 21 by 0.12 million cycles; interpolated times."""
    expected = pd.read_csv(PUBLISHED / "alloy_a_expected.csv").set_index("specimen")
    crossed = {}
    for name, crack in readings("crack_growth").groupby("machine"):
        if crack["value"].max() >= 1.60:
            specimen = int(str(name).removeprefix("Specimen "))
            crossed[specimen] = np.interp(1.60, crack["value"], crack["run_hours"]) / 10_000
    assert len(crossed) == 12
    for specimen, megacycles in crossed.items():
        wanted = expected.loc[specimen, "observed_cross_interp"]
        assert megacycles == pytest.approx(wanted, abs=5e-7)


def test_sliding_wear_follows_its_power_laws() -> None:
    """Meeker and Escobar 1998: a straight line in the logarithms of wear and cycles."""
    expected = pd.read_csv(PUBLISHED / "metal_wear_expected.csv").set_index("unit")
    rows = readings("sliding_wear").query("run_hours > 0")
    for name, unit in rows.groupby("machine"):
        wanted = expected.loc[int(str(name).removeprefix("Unit "))]
        cycles, wear = np.log(unit["run_hours"] / 100), np.log(unit["value"])
        line = fit_line(cycles, wear, np.full(len(unit), 1e-6))
        assert line.rate == pytest.approx(wanted["log_slope"], abs=5e-9)
        assert line.predict(0.0, 1)[0] == pytest.approx(wanted["log_intercept"], abs=1e-8)
        assert np.sqrt(line.scale) * 1e-6 == pytest.approx(wanted["resid_sd"], abs=5e-9)


@pytest.mark.parametrize(("folder", "clearances"), [("crack_growth", 21), ("cylinder_liners", 21)])
def test_loads_and_forecasts_in_hours(folder: str, clearances: int, tmp_path: Path) -> None:
    store = tmp_path / "reference.duckdb"
    loaded = trendwear.load(DATA / folder, store=store)
    assert loaded.faults.empty, loaded.faults.to_string()
    assert loaded.waiting.empty
    forecast = trendwear.forecast(store, as_of=date(2026, 11, 1))
    assert len(forecast) == clearances
    assert forecast["hours_to_limit_p50"].notna().sum() >= clearances // 3
    assert forecast["date_p50"].isna().all()


def test_sliding_wear_loads(tmp_path: Path) -> None:
    loaded = trendwear.load(DATA / "sliding_wear", store=tmp_path / "reference.duckdb")
    assert loaded.faults.empty, loaded.faults.to_string()
    assert loaded.waiting.empty
