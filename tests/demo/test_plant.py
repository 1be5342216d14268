"""The demo mill is the same on every run, is as large as it says, and tells its stories."""

from __future__ import annotations

import hashlib
from datetime import date
from pathlib import Path
from types import ModuleType

import openpyxl
import pandas as pd
import pytest

from trendwear.demo_plant import write_demo
from trendwear.errors import OutputProblem
from trendwear.readings.form import ACTIONS, SHEETS, STATES


def _bytes_of(folder: Path) -> dict[str, str]:
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_same_seed_same_bytes(sheets: list[Path], tmp_path: Path) -> None:
    write_demo(tmp_path)
    assert _bytes_of(tmp_path) == _bytes_of(sheets[0].parent)


def test_returns_what_to_load(sheets: list[Path]) -> None:
    mill, workbook = sheets
    # The mill leaves it to the readings how its families wear, and writes clearances, not sizes.
    left_out = {"families", "dimensions", "materials"}
    assert {path.stem for path in mill.iterdir()} == set(SHEETS) - left_out
    assert openpyxl.load_workbook(workbook, read_only=True).sheetnames == ["readings", "work"]


def test_workbook_holds_real_dates_and_numbers(sheets: list[Path]) -> None:
    rows = openpyxl.load_workbook(sheets[1])["readings"].iter_rows(min_row=2, values_only=True)
    cells = [(row[2], row[3], row[5]) for row in rows]
    assert all(day.year >= 2014 for day, _, _ in cells)
    assert all(isinstance(hours, int) for _, hours, _ in cells)
    values = [value for _, _, value in cells]
    assert any(isinstance(value, float) for value in values)
    assert any(str(value).endswith("½") for value in values)


def test_cannot_write(tmp_path: Path) -> None:
    in_the_way = tmp_path / "file"
    in_the_way.write_text("")
    with pytest.raises(OutputProblem, match="may write to"):
        write_demo(in_the_way)


def test_every_sheet_has_the_columns_of_the_form(sheets: list[Path]) -> None:
    for path in sheets[0].iterdir():
        form = SHEETS[path.stem]
        columns = pd.read_csv(path, nrows=0).columns
        assert set(form.needs) <= set(columns) <= set(form.names), path.stem


def test_size_of_the_plant(plant: ModuleType) -> None:
    rows = plant.sheets()
    register = pd.DataFrame(rows["clearances"])
    machines = pd.DataFrame(rows["machines"]).set_index("machine")
    assert register.drop_duplicates(["machine", "clearance"]).shape[0] >= 70
    kinds = machines["class"].value_counts()
    assert kinds["mill drive turbine"] >= 3
    assert {"boiler feed pump", "induced draught fan", "air compressor"} <= set(kinds.index)
    assert set(register["machine"]) == set(machines.index)


def test_openings_over_twelve_years(plant: ModuleType) -> None:
    readings = pd.DataFrame(plant.sheets()["readings"])
    opened = readings[readings["state"] != "check"]
    years = opened["date"].astype(str).str[:4]
    openings = years.groupby(opened["machine"]).nunique()
    alone = openings[openings == 1]
    assert list(alone.index) == ["T-104"]
    assert openings.drop("T-104").between(5, 9).all()
    assert int(years.max()) - int(years.min()) >= 12 - 1


def test_words_are_those_of_the_form(plant: ModuleType) -> None:
    rows = plant.sheets()
    assert {row["state"] for row in rows["readings"]} == set(STATES)
    assert {row["action"] for row in rows["work"]} <= set(ACTIONS)
    methods = {row["method"] for row in rows["methods"]}
    used = {row["method"] for row in [*rows["readings"], *rows["clearances"]]} - {""}
    assert used <= methods


def test_nothing_is_dated_after_the_day_it_is_known(plant: ModuleType) -> None:
    rows = plant.sheets()
    for sheet in ("readings", "work", "events", "run_log"):
        last = max(str(row["date"]) for row in rows[sheet])
        assert last <= str(plant.AS_OF), sheet
    assert max(str(row["to"]) for row in rows["duty_plan"]) > "2028"
    assert min(row["start"] for row in rows["outages"]) > date(2026, 11, 1)


def test_meter_never_runs_back_but_where_it_was_replaced(plant: ModuleType) -> None:
    log = pd.DataFrame(plant.sheets()["run_log"])
    log["life"] = (log["meter"] == "replaced").groupby(log["machine"]).cumsum()
    assert (
        log.groupby(["machine", "life"])["run_hours"]
        .apply(lambda h: h.is_monotonic_increasing)
        .all()
    )
    assert log["meter"].eq("replaced").sum() == 1


def test_season_hours(plant: ModuleType) -> None:
    log = pd.DataFrame(plant.sheets()["run_log"])
    t101 = log[log["machine"] == "T-101"].assign(year=lambda f: [day.year for day in f["date"]])
    hours = t101.groupby("year")["run_hours"].max().diff().dropna().loc[:2025]
    assert hours.between(3800, 4800).all()


@pytest.mark.parametrize(
    ("column", "text"),
    [
        ("value", "no-go"),
        ("value", "½"),
        ("value", "/16"),
        ("value", "<"),
        ("value", "thou"),
        ("value", "±"),
        ("value", "not taken"),
        ("basis", "radial"),
        ("run_hours", "±"),
        ("angle", "horizontal"),
        ("clearance", "Stm end brg"),
        ("note", "concession"),
    ],
)
def test_tells_its_stories(plant: ModuleType, column: str, text: str) -> None:
    assert any(text in str(row.get(column, "")) for row in plant.sheets()["readings"])


def test_unwritten_work_left_no_trace(plant: ModuleType) -> None:
    rows = plant.sheets()
    ring = {"machine": "T-103", "clearance": "Steam end carbon ring 3"}
    work = [row for row in rows["work"] if row["date"].year == 2020 and ring.items() <= row.items()]
    readings = [row for row in rows["readings"] if ring.items() <= row.items()]
    by_year = {row["date"].year: float(row["value"]) for row in readings}
    assert work == []
    assert by_year[2022] < by_year[2020] - 3


def test_work_on_a_whole_gland_names_the_set(plant: ModuleType) -> None:
    rows = plant.sheets()
    sets = {row["set"] for row in rows["clearances"]} - {""}
    assert {row["clearance"] for row in rows["work"]} & sets


def test_rotors_are_exchanged_and_a_ring_is_moved(plant: ModuleType) -> None:
    work = pd.DataFrame(plant.sheets()["work"])
    rotors = work[work["action"] == "exchanged"]
    assert set(rotors["clearance"]) == {"*"}
    assert list(rotors["serial"]) == ["MT-R2", "", "MT-R1"]
    (ring,) = work[work["action"] == "moved"].to_dict("records")
    assert (ring["clearance"], ring["to_clearance"]) == (
        "Exhaust end carbon ring 2",
        "Steam end carbon ring 2",
    )
    renewed = work[(work["clearance"] == ring["clearance"]) & (work["date"] == ring["date"])]
    assert set(renewed["action"]) == {"moved", "renewed"}


def test_limited_both_ways_has_two_rows(plant: ModuleType) -> None:
    register = pd.DataFrame(plant.sheets()["clearances"])
    both = register[register.duplicated(["machine", "clearance"], keep=False)]
    assert sorted(both["moves"]) == ["closes", "opens"]
    assert (register["limit"] == "").sum() == 1


def test_what_is_hidden_lies_ahead(plant: ModuleType) -> None:
    hidden = plant.hidden_opening()
    rates = plant.true_rates()
    assert (hidden["date"] > plant.AS_OF).all()
    assert len(hidden) == len(rates)
    assert (abs(hidden["value_mm"] - hidden["true_mm"]) < 0.5).all()
    assert (rates["rate_mm_per_1000h"] >= 0).all()
