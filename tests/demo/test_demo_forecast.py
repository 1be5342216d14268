"""From the demo's sheets to its limit-forecast table: nothing refused, and near the truth."""

from __future__ import annotations

from pathlib import Path
from types import ModuleType

import pandas as pd
import pytest

import trendwear
from trendwear.lengths import MM_PER_UNIT
from trendwear.readings.loaded import LoadReport

BAND = {"least": 0.82, "most": 1.0}
"""Where the share of 80 true values inside 90 % bands may lie by chance."""


@pytest.fixture(scope="session")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("store") / "demo.duckdb"


@pytest.fixture(scope="session")
def loaded(store: Path, sheets: list[Path]) -> LoadReport:
    return trendwear.load(sheets, store=store)


@pytest.fixture(scope="session")
def forecast(store: Path, loaded: LoadReport, plant: ModuleType) -> pd.DataFrame:
    return trendwear.forecast(store, as_of=plant.AS_OF)


def row(forecast: pd.DataFrame, machine: str, clearance: str) -> pd.Series:
    found = forecast[(forecast["machine"] == machine) & (forecast["clearance"] == clearance)]
    assert len(found) == 1
    return found.iloc[0]


def test_no_row_is_refused_and_none_waits(loaded: LoadReport) -> None:
    assert loaded.faults.empty, loaded.faults.to_string()
    assert loaded.waiting.empty, loaded.waiting.to_string()


def test_every_row_arrives(loaded: LoadReport, plant: ModuleType) -> None:
    added = {count.sheet: count.added for count in loaded.counts}
    wanted = {name: len(rows) for name, rows in plant.sheets().items()}
    wanted["readings"] -= 1  # "not taken" is
    wanted["events"] += 1  # kept as an event
    assert added == wanted


def test_twice_is_once(store: Path, loaded: LoadReport, sheets: list[Path]) -> None:
    again = trendwear.load(sheets, store=store)
    assert sum(count.added + count.filled + count.replaced for count in again.counts) == 0
    assert again.faults.empty


def test_every_clearance_has_its_row(forecast: pd.DataFrame, plant: ModuleType) -> None:
    register = plant.sheets()["clearances"]
    keys = [(cell["machine"], cell["clearance"], cell["moves"]) for cell in register]
    assert sorted(keys) == sorted(
        zip(forecast["machine"], forecast["clearance"], forecast["moves"], strict=True)
    )


@pytest.mark.parametrize(
    ("machine", "clearance", "outcome"),
    [
        ("T-102", "Exhaust end carbon ring 2", "measured past limit"),
        ("T-103", "Steam end carbon ring 2", "past limit"),
        ("T-103", "Steam end bearing", "reaches limit"),
        ("T-201", "Governor valve stem", "no limit"),
        ("F-401", "Inlet cone gap", "beyond horizon"),
        ("F-401", "Thrust end play", "no measurable wear"),
        ("C-501", "Rider band", "too few readings"),
    ],
)
def test_outcomes_vary(forecast: pd.DataFrame, machine: str, clearance: str, outcome: str) -> None:
    assert row(forecast, machine, clearance)["outcome"] == outcome


@pytest.mark.parametrize(
    ("machine", "clearance", "note"),
    [
        ("T-103", "Steam end carbon ring 3", "unexplained step"),
        ("T-103", "Steam end bearing", "wet steam"),
        ("P-301", "Inboard bearing", "hours unknown"),
        ("P-301", "Wear ring inboard", "ever faster"),
    ],
)
def test_stories_are_noted(forecast: pd.DataFrame, machine: str, clearance: str, note: str) -> None:
    assert note in str(row(forecast, machine, clearance)["notes"])


def test_hours_run_on_over_the_new_meter(forecast: pd.DataFrame) -> None:
    assert row(forecast, "T-102", "Rotor float")["run_hours"] > 100_000


def test_built_in_rates_lie_in_their_bands(forecast: pd.DataFrame, plant: ModuleType) -> None:
    """Straight wear only; a gap limited both ways counts once, in the sign of its first row."""
    rows = forecast.drop_duplicates(["machine", "clearance"])
    both = rows.merge(plant.true_rates().query("shape == 1"), on=["machine", "clearance"])
    both = both[both["rate_per_1000h"].notna()]
    truth = both["rate_mm_per_1000h"] / both["unit"].map(MM_PER_UNIT)
    towards = both["moves"].eq("opens") | (both["machine"] != "T-201")
    truth = truth.where(towards, -truth)
    inside = truth.between(both["rate_low"], both["rate_high"])
    assert len(both) >= 70
    assert BAND["least"] <= inside.mean() <= BAND["most"]
    worn = truth > 0
    assert (both["rate_per_1000h"] / truth)[worn].median() == pytest.approx(1.0, abs=0.1)


def test_next_opening_is_found_where_it_was_expected(
    store: Path, loaded: LoadReport, plant: ModuleType
) -> None:
    """At the day of the next opening each reading lies in its own 5-95 % band, nine in ten."""
    hidden = plant.hidden_opening()
    inside: list[bool] = []
    for machine, opened in hidden.groupby("machine"):
        expected = trendwear.forecast(store, as_of=opened["date"].iloc[0], horizon_hours=1)
        expected = expected[expected["machine"] == machine].drop_duplicates("clearance")
        both = expected.merge(opened, on=["machine", "clearance"]).dropna(subset="found_p50")
        value = both["value_mm"] / both["unit"].map(MM_PER_UNIT)
        inside += list(value.between(both["found_p05"], both["found_p95"]))
    share = sum(inside) / len(inside)
    assert len(inside) >= 80
    assert BAND["least"] <= share <= BAND["most"]
