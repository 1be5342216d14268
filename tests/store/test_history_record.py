"""Where every number came from, and every change of it since."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest
from openpyxl import Workbook

from trendwear.history_tables import CHANGED, HISTORY, KINDS, LOADED
from trendwear.readings.loaded import LoadReport
from trendwear.store.corrections import amend, exclude, undo_exclude
from trendwear.store.database import reader
from trendwear.store.history_record import record
from trendwear.store.intake import load
from trendwear.store.put_again import undo_take_back
from trendwear.store.signed import Signed
from trendwear.store.take_back import take_back
from trendwear.store.which_row import ReadingKey
from trendwear.tables import check

Take = Callable[..., LoadReport]

REGISTER = (
    "machine,clearance,kind,basis,moves,unit,limit,limit_from,limit_source,set\n"
    "K-1,b,sleeve,diametral,opens,mil,12,,\"Manual, 2nd edition, page 14\",bearings\n"
    "K-1,b,sleeve,diametral,opens,mil,10,2015-01-01,service letter 7,bearings\n"
    "K-1,a,sleeve,diametral,opens,mm,,,,\n"
)  # fmt: skip
READINGS = (
    "machine,clearance,date,run_hours,state,value,basis,method,by\n"
    "K-1,b,2014-05-01,31000,as-found,7-8,,feeler,\n"
    "K-1,b,2010-05-01,,as-left,0.06 mm,radial,lift check,J\n"
    "K-1,b,2016-05-01,,as-found,>9,,,\n"
)
ME = Signed("J. Fitter", "written on the wrong line")


def told(store: Path, machine: str, clearance: str | None = None) -> pd.DataFrame:
    with reader(store) as connection:
        return check(record(connection, machine, clearance), HISTORY)


def test_what_was_written_and_what_it_was_read_as(take: Take, store: Path) -> None:
    take(clearances=REGISTER, readings=READINGS)
    rows = told(store, "k 1", "B").query("kind == 'reading'").set_index("row")
    assert list(rows.index) == [3, 2, 4]
    assert rows["written"].to_dict() == {2: "7-8", 3: "0.06 mm", 4: ">9"}
    assert rows["read"].to_dict() == {
        2: "7.5 mil diametral by the register, between 7 mil and 8 mil",
        3: "0.06 mm radial",
        4: "at least 9 mil diametral by the register",
    }
    assert rows.at[2, "what"] == "as-found, 31,000 h, feeler"
    assert (rows.at[3, "by"], rows.at[3, "file"]) == ("J", "readings.csv")
    assert set(rows["counts"]) == {"yes"}
    assert (rows["load"] == 1).all()
    assert rows["at"].notna().all()


def test_how_it_was_taken_and_its_note(take: Take, store: Path) -> None:
    head = "machine,clearance,date,state,value,uncertainty,instrument,surface,temperature,note\n"
    take(
        clearances=REGISTER,
        readings=head + "K-1,b,2014-05-01,check,7,±0.3,gauge 4,dry,20 C,cap [2] was tight",
    )
    [row] = told(store, "K-1").query("kind == 'reading'").to_dict("records")
    assert row["what"] == (
        "check, gauge 4, dry, 20 C, standard uncertainty 0.173205 mil, note: cap [2] was tight"
    )


def test_the_cell_of_a_workbook_is_shown(store: Path, tmp_path: Path) -> None:
    book = Workbook()
    sheet = book.active
    sheet.title = "readings"
    head = ["machine", "clearance", "date", "state", "kind", "basis", "moves", "unit", "value"]
    sheet.append(head)
    sheet.append(["K-1", "b", "2014-05-01", "as-found", "sleeve", "diametral", "opens", "mil", 7])
    book.save(tmp_path / "log.xlsx")
    assert load(tmp_path / "log.xlsx", store=store).clean
    row = told(store, "K-1").query("kind == 'reading'").iloc[0]
    assert (row["file"], row["sheet"], row["row"], row["cell"]) == ("log.xlsx", "readings", 2, "I2")


def test_limits_in_sequence_with_their_sources(take: Take, store: Path) -> None:
    take(clearances=REGISTER)
    rows = told(store, "K-1", "b")
    assert list(rows["kind"]) == ["register", "register"]
    assert (
        rows["what"].iloc[0].startswith("limit 12 mil, limit source Manual, 2nd edition, page 14")
    )
    assert rows["what"].iloc[1].startswith("limit 10 mil, limit from 2015-01-01, limit source serv")
    assert rows["date"].iloc[1] == pd.Timestamp("2015-01-01")
    assert rows["former"].isna().all()


def test_a_limit_that_was_corrected_says_what_it_was(take: Take, store: Path) -> None:
    take(clearances=REGISTER)
    take("new", clearances=REGISTER.replace("mil,12,", "mil,13,").replace("page 14", "page 41"))
    rows = told(store, "K-1", "b")
    assert list(rows["counts"]) == ["until load 2 replaced it", "yes", "yes"]
    assert rows["former"].iloc[1] == (
        "limit was 12 mil, limit source was Manual, 2nd edition, page 14"
    )


def test_every_change_of_a_reading_in_its_order(take: Take, store: Path) -> None:
    take(clearances=REGISTER, readings=READINGS)
    key = ReadingKey("K-1", "b", "2014-05-01", "as-found")
    amend(store, key, "8", ME)
    exclude(store, key, ME)
    undo_exclude(store, key, Signed("E. Head", "it was right"))
    take("more", readings=READINGS.replace("7-8,,feeler,", "7-8,,feeler,M. Night"))
    take_back(store, 2, ME)
    undo_take_back(store, 2, Signed("E. Head", "the right file"))
    rows = told(store, "K-1", "b")
    item = rows.loc[(rows["happened"] == LOADED) & (rows["row"] == 2) & (rows["kind"] == "reading")]
    mine = rows[rows["item"] == item["item"].iloc[0]]
    assert list(mine["happened"]) == [
        *(LOADED, "amended", "excluded", "undone", "filled", "taken back", "put in again"),
    ]
    assert mine["at"].is_monotonic_increasing
    amended = mine.query("happened == 'amended'").iloc[0]
    assert (amended["former"], amended["written"], amended["read"]) == ("7-8", "8", "8 mil")
    assert (amended["by"], amended["why"]) == ("J. Fitter", "written on the wrong line")
    assert mine.query("happened == 'filled'")["written"].tolist() == ["by: M. Night"]
    assert set(mine["happened"]) <= {LOADED, *CHANGED}


def test_what_does_not_count_says_why(take: Take, store: Path) -> None:
    take(clearances=REGISTER)
    take("two", readings=READINGS)
    exclude(store, ReadingKey("K-1", "b", "2014-05-01", "as-found"), ME)
    rows = told(store, "K-1", "b").query("kind == 'reading' and happened == 'loaded'")
    assert rows.set_index("row")["counts"].to_dict() == {2: "no: excluded", 3: "yes", 4: "yes"}
    take_back(store, 2, ME)
    rows = told(store, "K-1", "b").query("kind == 'reading' and happened == 'loaded'")
    assert set(rows["counts"]) == {"no: taken back with load 2"}
    assert rows.set_index("row")["written"].to_dict() == {2: "7-8", 3: "0.06 mm", 4: ">9"}
    assert rows.set_index("row")["date"].dt.year.to_dict() == {2: 2014, 3: 2010, 4: 2016}


ALL = {
    "machines": "machine,description\nK-1,compressor\nK-2,pump",
    "clearances": REGISTER,
    "readings": READINGS,
    "work": "machine,clearance,date,action\nK-1,*,2010-05-01,renewed\n"
    "K-1,bearings,2012-05-01,re-babbitted\nK-1,a,2013-05-01,renewed",
    "events": "machine,date,what\nK-1,2011-05-01,oil loss",
    "run_log": "machine,date,run_hours\nK-1,2010-05-01,0\nK-2,2010-05-01,5",
    "duty_plan": "machine,from,hours_per_day\nK-1,2019-06-01,20",
    "due_dates": "machine,what,due\nK-1,inspection,2027-06-01",
    "dimensions": "machine,clearance,date,state,part,value,unit\n"
    "K-1,a,2012-05-01,as-found,bore,4.0020,in\n"
    "K-1,a,2012-05-01,as-found,journal,3.9955,in",
    "concessions": "machine,clearance,date,by,why\nK-1,b,2026-03-01,A. Signer,parts late",
}


@pytest.mark.parametrize("then", ["counts", "is taken back"])
def test_all_that_is_stored_of_a_machine(take: Take, store: Path, then: str) -> None:
    assert take(**ALL).clean
    if then == "is taken back":
        take_back(store, 1, ME)
    rows = told(store, "K-1").query("happened == 'loaded'")
    # What was computed of sizes goes with them.
    kinds = [kind for kind in KINDS if then == "counts" or kind != "computed"]
    assert rows["kind"].value_counts().to_dict() == {
        **dict.fromkeys(kinds, 1),
        "register": 3,
        "reading": 3,
        "dimension": 2,
        "work": 3,
    }
    assert list(dict.fromkeys(rows["kind"])) == kinds
    assert rows["file"].notna().all()
    assert (rows["counts"].eq("yes") == (then == "counts")).all()


def test_of_one_clearance_its_own_and_the_work_on_its_set(take: Take, store: Path) -> None:
    take(**ALL)
    rows = told(store, "K-1", "b")
    assert set(rows["kind"]) == {"register", "reading", "work", "concession"}
    assert list(rows.query("kind == 'work'")["clearance"]) == ["*", "bearings"]
    assert told(store, "K-9").empty
    assert told(store, "K-1", "z").query("kind != 'work'").empty


def test_a_name_of_the_names_sheet_finds_it(take: Take, store: Path) -> None:
    take(**ALL, names="as_written,clearance\nbearing B,b")
    assert len(told(store, "K-1", "Bearing B")) == len(told(store, "K-1", "b"))
