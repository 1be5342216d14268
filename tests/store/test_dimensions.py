"""Sizes of partners as they come in, what is refused of them, and the readings they make."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from trendwear import tables
from trendwear.dimension_tables import DIMENSIONS, MATERIALS
from trendwear.errors import UnknownName
from trendwear.readings.loaded import LoadReport
from trendwear.report.history.lines import history_lines
from trendwear.store.corrections import exclude
from trendwear.store.database import reader
from trendwear.store.history_record import record
from trendwear.store.put_again import undo_take_back
from trendwear.store.signed import Signed
from trendwear.store.take_back import take_back
from trendwear.store.which_row import ReadingKey

Take = Callable[..., LoadReport]
Stored = Callable[[str], pd.DataFrame]
MIL = 0.0254
REGISTER = (
    "machine,clearance,kind,basis,moves,unit,limit\n"
    "T-1,brg,sleeve bearing,diametral,opens,mil,12\n"
    "T-1,float,thrust bearing,axial,opens,mil,20\n"
    "T-1,crown,sleeve bearing,thickness,closes,mil,200\n"
)
HEAD = "machine,clearance,date,state,part,value,unit,method,temperature,material\n"
PAIR = HEAD + (
    "T-1,brg,2024-05-01,as-found,bore,4.0020,in,bore gauge,,\n"
    "T-1,brg,2024-05-01,as-found,shaft,3.9955 in,,outside mic,,\n"
)


def test_two_sizes_make_one_reading(take: Take, stored: Stored) -> None:
    report = take(clearances=REGISTER, dimensions=PAIR)
    assert report.clean, report.faults.to_string()
    assert report.count_of("dimensions").added == 2
    assert not any("no clearance" in note for note in report.notes)
    tables.check(stored("dimensions"), DIMENSIONS)
    rows = stored("readings")
    tables.check(rows, tables.READINGS)
    [row] = rows.to_dict("records")
    assert row["value_mm"] == pytest.approx(6.5 * MIL)
    assert row["written"] == "computed: bore 4.0020 − journal 3.9955 in"
    assert (row["state"], row["basis"], row["reading"] < 0) == ("as-found", "diametral", True)
    assert (row["file"], row["row"]) == ("dimensions.csv", 2)
    assert stored("dimensions")["method"].tolist() == ["bore gauge", "micrometer"]


def test_they_stand_among_the_readings_by_position_and_date(take: Take, stored: Stored) -> None:
    take(
        clearances=REGISTER,
        dimensions=PAIR,
        readings="machine,clearance,date,state,value\nT-1,brg,2020-01-01,as-found,5\n"
        "T-1,brg,2025-01-01,as-found,7\nT-1,float,2020-01-01,as-found,9\n",
    )
    rows = stored("readings")
    assert (rows["value_mm"] / MIL).round(6).tolist() == [5.0, 6.5, 7.0, 9.0]
    assert rows["reading"].is_unique


def test_the_same_file_again_changes_nothing_and_a_changed_row_replaces(
    take: Take, stored: Stored, store: Path
) -> None:
    take(clearances=REGISTER, dimensions=PAIR)
    assert not take(clearances=REGISTER, dimensions=PAIR).changed
    report = take(dimensions=PAIR.replace("4.0020", "4.0030"))
    assert report.count_of("dimensions").replaced == 1
    assert stored("readings")["value_mm"].tolist() == pytest.approx([7.5 * MIL])
    with reader(store) as connection:
        told = record(connection, "T-1", "brg")
    sizes = told[told["kind"] == "dimension"].set_index("written")
    assert sizes["read"].to_dict() == {
        "4.0020": "4.002 in",
        "4.0030": "4.003 in",
        "3.9955 in": "3.9955 in",
    }
    assert sizes["counts"].to_dict() == {
        "4.0020": "until load 2 replaced it",
        "4.0030": "yes",
        "3.9955 in": "yes",
    }
    [made] = told[told["kind"] == "computed"].to_dict("records")
    assert made["written"] == "computed: bore 4.0030 − journal 3.9955 in"
    assert made["read"].startswith("0.0075 in diametral, standard uncertainty 0.00029 in")


def test_a_partner_that_comes_later_completes_the_reading(take: Take, stored: Stored) -> None:
    lines = PAIR.splitlines(keepends=True)
    report = take("one", clearances=REGISTER, dimensions=lines[0] + lines[1])
    [note] = [note for note in report.notes if note.startswith("dimensions")]
    assert "the journal is missing: T-1 / brg, 2024-05-01, as-found (dimensions.csv row 2)" in note
    assert stored("readings").empty
    take("two", dimensions=lines[0] + lines[2])
    assert len(stored("readings")) == 1


def test_the_history_says_why_sizes_make_nothing(take: Take, store: Path) -> None:
    take(clearances=REGISTER, dimensions=PAIR.replace("4.0020", "3.9020"))
    with reader(store) as connection:
        told = record(connection, "T-1")
    [line] = told[told["kind"] == "computed"].to_dict("records")
    bigger = "the journal is bigger than the bore: 3.9955 against 3.9020 in"
    assert line["written"] == f"no clearance computed, {bigger}"
    assert line["counts"] == f"no: {bigger}"
    lines = " ".join(" ".join(history_lines(told, 100)).split())
    assert f"2024-05-01 as-found: no clearance computed, {bigger} dimensions.csv, row 3" in lines


def test_a_computed_reading_is_corrected_on_its_sheet_only(take: Take, store: Path) -> None:
    take(
        clearances=REGISTER,
        dimensions=PAIR,
        readings="machine,clearance,date,state,value\nT-1,brg,2025-01-01,as-found,5\n",
    )
    me = Signed("J. Fitter", "wrong bore")
    with pytest.raises(UnknownName, match="computed of sizes") as told:
        exclude(store, ReadingKey("T-1", "brg", "2024-05-01", "as-found"), me)
    assert "dimensions.csv row 2" in str(told.value)
    exclude(store, ReadingKey("T-1", "brg", "2025-01-01", "as-found"), me)


def test_a_row_gone_from_its_file_is_named_and_stays(take: Take, stored: Stored) -> None:
    take(clearances=REGISTER, dimensions=PAIR)
    report = take(dimensions="".join(PAIR.splitlines(keepends=True)[:2]))
    assert any("1 row of dimensions that it held before" in note for note in report.notes)
    assert len(stored("readings")) == 1


def test_sizes_go_with_their_load_and_come_back_with_it(
    take: Take, stored: Stored, store: Path
) -> None:
    take("one", clearances=REGISTER)
    take("two", dimensions=PAIR)
    take_back(store, 2, Signed("J. Fitter", "another machine's sheet"))
    assert stored("readings").empty
    undo_take_back(store, 2, Signed("J. Fitter", "it was the right one"))
    assert len(stored("readings")) == 1


def test_two_pushes_make_a_float(take: Take, stored: Stored) -> None:
    report = take(
        clearances=REGISTER,
        dimensions="machine,clearance,date,state,part,value [mil]\n"
        "T-1,float,2024-05-01,as-found,towards,12\nT-1,float,2024-05-01,as-found,away,-2\n",
    )
    assert report.clean, report.faults.to_string()
    assert stored("readings")["value_mm"].tolist() == pytest.approx([14 * MIL])
    assert stored("readings")["basis"].tolist() == ["axial"]


@pytest.mark.parametrize(
    ("row", "column", "says"),
    [
        ("T-1,brg,2024-05-01,as-found,bore,4.0020,,,,", "value", "has no unit"),
        ("T-1,brg,2024-05-01,as-found,bore,-4.0020,in,,,", "value", "above 0"),
        ("T-1,brg,2024-05-01,as-found,bore,,in,,,", "value", "blank"),
        ("T-1,brg,2024-05-01,as-found,sleeve,4.0020,in,,,", "part", "not one of those"),
        ("T-1,brg,2024-05-01,as-found,toward,4,mil,,,", "part", "as diametral"),
        ("T-1,float,2024-05-01,as-found,bore,4,in,,,", "part", "as axial"),
        ("T-1,crown,2024-05-01,as-found,bore,4,in,,,", "part", "as thickness"),
        ("T-1,brg,,as-found,bore,4,in,,,", "date", "neither a date nor hours"),
        ("T-1,brg,2024-05-01,as-found,bore,4,in,,68,steel", "temperature", "°C or °F"),
        ("T-1,brg,2024-05-01,as-found,bore,4,in,,600 °F,steel", "temperature", "outside"),
        ("T-1,brg,2024-05-01,as-found,bore,4,in,,68 K,steel", "temperature", "scale"),
        ("T-1,brg,2024-05-01,as-found,bore,4,in,,warm,steel", "temperature", "no temperature"),
    ],
)
def test_what_cannot_be_used_is_refused(
    take: Take, stored: Stored, row: str, column: str, says: str
) -> None:
    report = take(clearances=REGISTER, dimensions=HEAD + row)
    assert report.faults["column"].tolist() == [column]
    assert says in report.faults["reason"][0]
    assert stored("dimensions").empty


def test_no_size_is_exact(take: Take) -> None:
    report = take(
        clearances=REGISTER,
        dimensions="machine,clearance,date,state,part,value,unit,uncertainty\n"
        "T-1,brg,2024-05-01,as-left,bore,4.0020,in,0\n",
    )
    assert report.faults["column"].tolist() == ["uncertainty"]


def test_temperatures_by_cell_and_by_heading(take: Take, stored: Stored) -> None:
    take(
        clearances=REGISTER,
        dimensions="machine,clearance,date,state,part,value,unit,temperature [°F],material\n"
        "T-1,brg,2024-05-01,as-found,bore,4.0020,in,100.4,bronze\n"
        "T-1,brg,2024-05-01,as-found,journal,3.9955,in,38 °C,12Cr\n",
    )
    sizes = stored("dimensions")
    assert sizes["temperature_c"].tolist() == pytest.approx([38.0, 38.0])
    [row] = stored("readings").to_dict("records")
    grown = (18.0e-6 * 4.0020 - 10.8e-6 * 3.9955) * 18
    assert row["value_mm"] / 25.4 == pytest.approx(0.0065 - grown, abs=2e-6)
    assert row["written"].endswith("at 20 °C")


def test_the_sites_own_materials_count(take: Take, stored: Stored) -> None:
    take(
        materials="material,expansion,degree,source\nour bronze,10e-6,F,mill sheet\n"
        "bronze,19e-6,C,mill sheet\n"
    )
    rows = stored("materials")
    tables.check(rows, MATERIALS)
    own = rows.set_index("material")["per_c"]
    assert own["our bronze"] == pytest.approx(18e-6)
    assert own["bronze"] == pytest.approx(19e-6)
    report = take("bad", materials="material,expansion,degree\nlead,29,C\n")
    assert report.faults["column"].tolist() == ["expansion"]


def test_sizes_of_an_unknown_position_wait_for_the_register(take: Take, stored: Stored) -> None:
    report = take(dimensions=PAIR)
    assert report.waiting["rows"].tolist() == [2]
    take("later", clearances=REGISTER)
    assert len(stored("readings")) == 1


def test_the_size_of_one_partner_is_never_a_reading(take: Take, stored: Stored) -> None:
    report = take(
        clearances=REGISTER,
        readings="machine,clearance,date,state,part,value,unit\n"
        "T-1,brg,2024-05-01,as-found,bore,4.0020,in\n",
    )
    assert report.faults["column"].tolist() == ["part"]
    assert "sheet dimensions" in report.faults["instead"][0]
    assert stored("readings").empty


def test_a_pair_in_one_cell_is_as_uncertain_as_two_rows(take: Take, stored: Stored) -> None:
    take(
        clearances=REGISTER,
        dimensions=PAIR.replace("outside mic", "micrometer").replace("bore gauge", "micrometer"),
        readings="machine,clearance,date,state,value,unit,method,uncertainty\n"
        "T-1,brg,2025-01-01,as-found,3.9955 / 4.0020 in (journal/bore),mil,micrometer,\n"
        "T-1,brg,2026-01-01,as-found,3.9955 / 4.0020 in (journal/bore),mil,,\n"
        "T-1,brg,2027-01-01,as-found,3.9955 / 4.0020 in (journal/bore),mil,,0.2 mil\n"
        '"T-1",brg,2028-01-01,as-found,3.9955 / 4.0020 in (journal/bore),mil,bore gauge + mic,\n',
    )
    rows = stored("readings")
    assert (rows["value_mm"] / MIL).round(6).tolist() == [6.5] * 5
    u = (rows["stated_mm"] / MIL).tolist()
    two = 0.4 / 3**0.5 * 2**0.5
    assert u == pytest.approx([two, two, 0.1 * 2**0.5, 0.2, 0.4 / 3**0.5], abs=1e-9)
    assert rows["half_width_mm"].tolist() == [0.0] * 5
    assert rows["u_from"].tolist()[:3] == [
        "starting value",
        "starting value",
        "written resolution",
    ]
