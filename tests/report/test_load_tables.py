"""What a load did, as tables."""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from trendwear.readings.faults import FAULTS
from trendwear.readings.loaded import LoadReport, SheetCount
from trendwear.report.load_report import refused_bytes
from trendwear.report.load_tables import (
    counts_table,
    in_one_sentence,
    refused_table,
    waiting_table,
)


def report(faults=(), waiting=(), counts=()) -> LoadReport:
    return LoadReport(
        store=Path("s.duckdb"),
        files=("a.csv",),
        counts=tuple(counts),
        waiting=pd.DataFrame(
            list(waiting), columns=["machine", "clearance", "sheet", "lacks", "rows"]
        ),
        faults=pd.DataFrame(list(faults), columns=list(FAULTS)),
        notes=(),
        changed=True,
    )


FAULT = {
    "file": "a.xlsx",
    "sheet": "readings",
    "row": 3,
    "column": "value",
    "written": "=1+1",
    "reason": "it is no reading",
    "instead": "write the number",
}


def test_counts_of_each_sheet_in_words():
    table = counts_table(report(counts=[SheetCount("readings", 5, 1, 0, 2)]))
    assert table.to_dict("records") == [
        {"sheet": "readings", "new": 5, "filled in": 1, "changed": 0, "there already": 2}
    ]


def test_a_cell_is_named_where_there_is_one_else_the_row_else_nothing():
    faults = [{**FAULT, "cell": "F3"}, FAULT, {**FAULT, "row": 0}]
    assert refused_table(report(faults))["cell"].tolist() == ["F3", "row 3", ""]


def test_one_sentence_counts_a_row_of_two_faults_once():
    made = report(
        [FAULT, {**FAULT, "column": "date"}],
        [("M", "a", "readings", "the position", 4)],
        [SheetCount("readings", 5, 1, 0, 2)],
    )
    assert in_one_sentence(made) == (
        "Rows: 5 new, 1 filled in, 2 there already, 1 refused, 4 waiting for the register"
    )
    assert in_one_sentence(report()) == "No rows were found"


def test_whole_sheets_that_could_not_be_read_are_not_counted_as_rows():
    made = report([{**FAULT, "row": 0}, {**FAULT, "row": 0, "sheet": "work"}, FAULT])
    assert in_one_sentence(made) == "Rows: 1 refused; 2 whole sheets could not be read"


def test_columns_that_say_nothing_of_any_refused_row_are_left_out():
    table = refused_table(report([{**FAULT, "row": 0, "column": None, "written": None}]))
    assert list(table) == ["file", "sheet", "reason", "write instead"]


def test_what_waits_names_machine_and_position():
    table = waiting_table(report(waiting=[("M", None, "run_log", "the machine", 4)]))
    assert table.iloc[0].tolist() == ["M", "", "run_log", 4, "the machine"]


def test_a_saved_refused_row_starts_no_formula():
    lines = refused_bytes(report([FAULT])).decode("utf-8-sig").splitlines()
    assert lines[0].startswith("file,sheet,row,column,written")
    assert ",'=1+1," in lines[1]
