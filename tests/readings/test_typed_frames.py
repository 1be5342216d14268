"""What a load hands over: every sheet, every column, its dtypes and provenance."""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reading_files import HEADINGS, ROW, Read, Write

from trendwear.readings.columns import Column, Holds, Takes
from trendwear.readings.faults import FAULTS
from trendwear.readings.form import SHEETS
from trendwear.readings.sheet import read_paths
from trendwear.tables import check

CELLS = {
    Holds.TEXT: "=a text, inert",
    Holds.NAME: " =K-101 ",
    Holds.NUMBER: "12.5",
    Holds.COUNT: "12",
    Holds.YES_NO: "Yes",
    Holds.DATE: "1998-05",
    Holds.HOURS: "~32000 ±3000",
    Holds.LENGTH: "6.5 mils",
    Holds.UNIT: "Thou",
    Holds.TEMPERATURE: "68 deg. F",
}
READ = {
    Holds.TEXT: {"": "=a text, inert"},
    Holds.NAME: {"": "=K-101"},
    Holds.NUMBER: {"": 12.5},
    Holds.COUNT: {"": 12.0},
    Holds.YES_NO: {"": True},
    Holds.DATE: {"": pd.Timestamp(1998, 5, 16), "_spread_days": 15.0},
    Holds.HOURS: {"": 32000.0, "_spread": 3000.0},
    Holds.LENGTH: {
        "": 6.5,
        "_unit": "mil",
        "_lower": 6.5,
        "_upper": 6.5,
        "_half_width": 0.0,
        "_step": 0.1,
        "_side": None,
        "_plus_minus": False,
        "_written": "6.5 mils",
    },
    Holds.UNIT: {"": "mil"},
    Holds.TEMPERATURE: {"": 68.0, "_unit": "°F"},
}
BLANK = {
    Holds.DATE: {"_spread_days": 0.0},
    Holds.HOURS: {"_spread": 0.0},
    Holds.LENGTH: {"_plus_minus": False},
}
DTYPES = {
    Holds.NUMBER: {"": "float64"},
    Holds.COUNT: {"": "float64"},
    Holds.DATE: {"": "datetime64[us]", "_spread_days": "float64"},
    Holds.HOURS: {"": "float64", "_spread": "float64"},
    Holds.TEMPERATURE: {"": "float64", "_unit": "object"},
    Holds.LENGTH: {
        "": "float64",
        "_unit": "object",
        "_lower": "float64",
        "_upper": "float64",
        "_half_width": "float64",
        "_step": "float64",
        "_side": "object",
        "_plus_minus": "bool",
        "_written": "object",
    },
}
PROVENANCE = {
    "file": "object", "sheet": "object", "row": "int64", "cell": "object", "sha256": "object"
}  # fmt: skip


def cell(column: Column) -> str:
    return column.words[0].upper() if column.words else CELLS[column.holds]


def expected_dtypes(name: str) -> dict[str, str]:
    dtypes = {}
    for column in SHEETS[name].columns:
        for suffix, dtype in DTYPES.get(column.holds, {"": "object"}).items():
            dtypes[column.name + suffix] = dtype
        if column.takes is Takes.READING:
            dtypes[column.name + "_basis"] = "object"
    return dtypes | PROVENANCE


@pytest.mark.parametrize("name", SHEETS)
def test_every_column_of_every_sheet(write: Write, name: str) -> None:
    sheet = SHEETS[name]
    full = [cell(column) for column in sheet.columns]
    needed = [cell(column) if column.name in sheet.needs else "" for column in sheet.columns]
    if name == "readings":
        needed[sheet.names.index("date")] = "1998-05"
    rows = [";".join(sheet.names), ";".join(full), ";".join(needed)]
    incoming = read_paths([write(f"{name}.csv", "\n".join(rows))])
    assert incoming.faults.empty
    frame = incoming.sheets[name]
    assert {c: str(d) for c, d in frame.dtypes.items()} == expected_dtypes(name)
    for column in sheet.columns:
        wanted = {"": column.words[0]} if column.words else READ[column.holds]
        for suffix, value in wanted.items():
            assert frame[column.name + suffix].iloc[0] == value or value is None
            blank = column.name not in sheet.needs and column.name != "date"
            if blank and suffix in BLANK.get(column.holds, {}):
                assert frame[column.name + suffix].iloc[1] == BLANK[column.holds][suffix]
            elif blank:
                assert pd.isna(frame[column.name + suffix].iloc[1])
    assert frame["row"].tolist() == [2, 3]


@pytest.mark.parametrize("name", SHEETS)
def test_a_sheet_that_no_file_has_is_an_empty_frame(read: Read, name: str) -> None:
    frame = read_paths([]).sheets[name]
    assert len(frame) == 0
    assert {c: str(d) for c, d in frame.dtypes.items()} == expected_dtypes(name)


def test_faults_are_a_checked_frame(read: Read) -> None:
    check(read_paths([]).faults, FAULTS)
    check(read(f"{HEADINGS}\nx\n{ROW}\n").faults, FAULTS)
    check(read_paths([Path("none")]).faults, FAULTS)


def test_provenance(write: Write) -> None:
    first = write("readings.csv", f"{HEADINGS}\n{ROW}\n")
    second = write("readings 2019.csv", f"{HEADINGS},by\n{ROW},M\n")
    incoming = read_paths([first, second])
    frame = incoming.sheets["readings"]
    assert frame["file"].tolist() == ["readings.csv", "readings 2019.csv"]
    assert frame["sheet"].tolist() == ["readings", "readings 2019"]
    assert frame["sha256"].tolist() == [
        hashlib.sha256(path.read_bytes()).hexdigest() for path in (first, second)
    ]
    assert frame["by"].tolist() == [None, "M"]
    assert [(file.path, file.name) for file in incoming.files] == [
        (first, "readings.csv"),
        (second, "readings 2019.csv"),
    ]


def test_readings_may_carry_register_columns(read: Read) -> None:
    text = f"{HEADINGS},kind,moves,limit,limit_unit,class\n{ROW},seal,opens,12,mil,pump\n"
    frame = read(text + f'{ROW},seal,opens,"0.012""",mil,pump\n{ROW},,,,,\n').sheets["readings"]
    assert frame["kind"].tolist() == ["seal", "seal", None]
    assert frame["limit"].tolist()[:2] == [12.0, 0.012]
    assert frame["limit_unit"].tolist() == ["mil", "in", None]
    assert "design_min" not in frame
    assert "kind" not in read(f"{HEADINGS}\n{ROW}\n").sheets["readings"]


def test_the_cell_is_kept_as_written(read: Read) -> None:
    text = f"{HEADINGS}\n{ROW.replace('6.5', chr(34) + '  60  ± 20 THOU ' + chr(34))}\n"
    frame = read(text).sheets["readings"]
    assert frame["value_written"].tolist() == ["  60  ± 20 THOU "]
    assert frame["value_plus_minus"].tolist() == [True]


def test_words_that_name_work(read: Read) -> None:
    rows = "K-101,brg DE,2020-05-01,32000,,Scraped,\nK-101,brg NDE,2020-05-01,~5 ±1,,renewed,\n"
    incoming = read(f"{HEADINGS}\n{ROW}\n{rows}")
    work = incoming.sheets["work"]
    assert work["action"].tolist() == ["dressed", "renewed"]
    assert work["run_hours_spread"].tolist() == [0.0, 1.0]
    assert work[["file", "sheet", "row"]].values.tolist() == [
        ["readings.csv", "readings", 3],
        ["readings.csv", "readings", 4],
    ]
    assert {c: str(d) for c, d in work.dtypes.items()} == expected_dtypes("work")
    assert len(incoming.sheets["readings"]) == 1
    assert incoming.faults.empty
    assert any("'Scraped' is kept as work: row 3" in note for note in incoming.notes)


def test_work_that_is_told_twice_counts_once(write: Write) -> None:
    readings = write(
        "readings.csv",
        f"{HEADINGS}\nk-101,BRG de,2020-05-01,,as-found,renewed,\n"
        "k-101,BRG de,2020-05-01,,as-left,renewed,\nK-101,brg DE,2021-05-01,,,renewed,\n",
    )
    work = write(
        "work.csv",
        "machine,clearance,date,action,part_no\nK-101,brg DE,2020-05-01,renewed,7\n"
        "K-101,brg DE,2020-05-01,renewed,8\n",
    )
    for paths in ([readings, work], [work, readings]):
        incoming = read_paths(paths)
        frame = incoming.sheets["work"]
        assert sorted(frame["part_no"].dropna()) == ["7", "8"]
        assert frame[frame["part_no"].isna()]["row"].tolist() == [4]
        assert any("told already" in note and "row 2, 3" in note for note in incoming.notes)


def test_other_words_become_events(read: Read) -> None:
    rows = [ROW.replace("6.5", word) for word in ("not taken", "N/A", "-", "same")]
    incoming = read("\n".join([f"{HEADINGS},angle", *(f"{row},90" for row in rows)]))
    events = incoming.sheets["events"]
    assert events["what"].tolist() == [
        f"brg DE, as-found, angle 90: {word}" for word in ("not taken", "N/A", "-", "same")
    ]
    assert events["clearances"].unique().tolist() == ["brg DE"]
    assert {c: str(d) for c, d in events.dtypes.items()} == expected_dtypes("events")
    assert incoming.sheets["readings"].empty


def test_a_word_needs_machine_clearance_and_date(read: Read) -> None:
    incoming = read(f"{HEADINGS}\n,,,32000,,renewed,\n")
    assert incoming.faults["column"].tolist() == ["machine", "clearance", "date"]
    assert incoming.sheets["work"].empty


def test_words_that_are_not_known_are_refused(read: Read) -> None:
    incoming = read(f"{HEADINGS}\n{ROW.replace('6.5', 'half life')}\n")
    assert incoming.faults[["column", "written"]].values.tolist() == [["value", "half life"]]


def test_a_computed_value_deserves_a_look(read: Read) -> None:
    incoming = read(f"{HEADINGS}\n{ROW}\n{ROW.replace('6.5', '6.333333333')}\n")
    assert any("more decimals" in note and "row 3" in note for note in incoming.notes)


def test_a_parquet_file(tmp_path: Path) -> None:
    path = tmp_path / "readings.parquet"
    pd.DataFrame(
        {
            "Machine": ["K", "K", None],
            "clearance": ["a", "b", "c"],
            "date": pd.to_datetime(["2020-05-01", None, "2020-05-02"]),
            "run_hours": [1.0, 2.5, np.nan],
            "state": "check",
            "value": [0.1 + 0.2, 7.0, 1.0],
            "starts": [1, 2, 3],
        }
    ).to_parquet(path)
    incoming = read_paths([path])
    frame = incoming.sheets["readings"]
    assert frame["row"].tolist() == [1, 2]
    assert frame["value"].tolist() == [0.3, 7.0]
    assert frame["value_step"].tolist() == [0.1, 1.0]
    assert frame["date"].tolist() == [pd.Timestamp(2020, 5, 1), pd.NaT]
    assert incoming.faults[["row", "column"]].values.tolist() == [[3, "machine"]]


def test_a_parquet_file_whose_name_looks_like_a_pattern(tmp_path: Path) -> None:
    frame = {"machine": ["K"], "date": ["2020-05-01"], "run_hours": ["5"]}
    for name in ("run_log 1.parquet", "a=[1]*.parquet"):
        pd.DataFrame(frame).to_parquet(tmp_path / name)
        assert len(read_paths([tmp_path / name]).sheets["run_log"]) == 1


cells = st.text(
    st.characters(exclude_categories=["Cs"], exclude_characters='\0\r\n",;\t'), max_size=12
)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(cells, min_size=7, max_size=7), max_size=6))
def test_law_every_row_is_read_or_refused(
    tmp_path_factory: pytest.TempPathFactory, rows: list[list[str]]
) -> None:
    path = tmp_path_factory.mktemp("law") / "readings.csv"
    text = "\n".join([HEADINGS, ROW, *(",".join(row) for row in rows)])
    path.write_text(text, encoding="utf-8")
    incoming = read_paths([path])
    told = set(incoming.faults["row"])
    for sheet in ("readings", "work", "events"):
        told |= set(incoming.sheets[sheet]["row"])
    filled = {n for n, row in enumerate(rows, start=3) if any(c.strip() for c in row)}
    repeats = {n for note in incoming.notes if "told already" in note for n in filled}
    assert told >= {2} | (filled - repeats)
    assert not set(incoming.sheets["readings"]["row"]) & set(incoming.faults["row"])
