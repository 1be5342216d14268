"""The record of past forecasts in words, tables, files and charts."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import openpyxl
import pandas as pd
import pytest
from invented_past import invented_past

from trendwear import tables
from trendwear.errors import UsageProblem
from trendwear.hindsight.found import FOUND
from trendwear.report.hindcast.charts import bands_chart, readings_chart
from trendwear.report.hindcast.export import check_record_suffix, record_bytes, write_record
from trendwear.report.hindcast.tables import (
    FORECAST_RECORD,
    coverage_table,
    forecast_record,
    misses_table,
    plans_table,
    rules_table,
)
from trendwear.report.hindcast.terminal import hindcast_lines
from trendwear.report.hindcast.words import due_late, late_words, plan_words, summary_words


@pytest.fixture
def told():
    return invented_past()


@pytest.fixture
def empty():
    return invented_past(readings=0, closings=0)


def test_the_record_is_told_in_words(told) -> None:
    words = "\n".join(summary_words(told))
    assert "brought 42 as-found readings; 40 of them could have been forecast" in words
    assert "first reading of this clearance (2)" in words
    assert "36 of 40 readings lay inside the 90 % band (90 %)" in words
    assert "holds 33 to 39 of them, nine times in ten: as promised" in words
    assert "Against the last interval's rate, on 40 readings" in words


def test_small_numbers_are_told_as_small() -> None:
    words = "\n".join(summary_words(invented_past(readings=8)))
    assert "few readings: this says little" in words


def test_bands_that_break_their_promise_are_told(told) -> None:
    words = "\n".join(summary_words(invented_past(readings=30, shift=4.0)))
    assert "0 of 30 readings lay inside the 90 % band" in words
    assert "too few inside, the band is too narrow" in words
    wide = "\n".join(summary_words(invented_past(readings=60, scatter=0.0)))
    assert "wider than need be" in wide


def test_plans_are_counted_in_words(told) -> None:
    words = plan_words(told)
    assert words[1].startswith(
        "Of 4 plans at 10 %, 1 was late, 2 in time, 1 not put to the test. "
        "0.4 late ones were to be expected (0 to 2, nine times in ten): as promised."
    )
    assert "1 closing came before any limiting clearance" in "\n".join(words)
    late = late_words(told.plans)
    assert len(late) == 1
    assert "it might have run 8,000 h at 5 %, 9,000 h at 10 %, 10,000 h at 20 %" in late[0]
    assert "had reached it at about 7,000 h" in late[0]
    assert "Beside it: after wet steam" in late[0]


def test_more_late_than_the_risk_allows_is_said() -> None:
    words = "\n".join(plan_words(invented_past(closings=12, outcome="late")))
    assert "more were late than the risk allows" in words


def test_late_ones_to_be_expected_follow_the_binomial() -> None:
    from scipy import stats

    low, due, high = due_late(np.full(20, 0.1))
    assert due == pytest.approx(2.0)
    assert (low, high) == tuple(stats.binom.ppf([0.05, 0.95], 20, 0.1))


def test_an_empty_past_is_told_plainly(empty) -> None:
    assert summary_words(empty) == [
        "No opening with an as-found reading lies behind: there is no past forecast to judge."
    ]
    assert plan_words(empty)[0] == "No past plan could be followed yet."
    for suffix in (".csv", ".xlsx", ".md"):
        assert record_bytes(empty, suffix)
    assert bands_chart(empty.scores) is None
    assert readings_chart(empty.found) is None
    assert "no past forecast" in "\n".join(hindcast_lines(empty, 200))


def test_tables_for_people(told) -> None:
    bands = coverage_table(told.scores)
    assert bands["group"].tolist()[:2] == ["all readings", "later runs"]
    assert bands["in 90 % band"].iloc[0] == "36 = 90 % (33–39)"
    rules = rules_table(told.scores)
    assert set(rules["against"]) == {"last interval's rate", "own-data line"}
    misses = misses_table(told.found)
    assert len(misses) == 4
    assert set(misses["side"]) <= {"more worn", "less worn"}
    plans = plans_table(told.plans, 0.10)
    assert plans["outcome"].tolist()[0] == "late"
    assert len(plans) == 4


def test_every_number_goes_into_the_file_in_its_own_unit(told) -> None:
    record = forecast_record(told.found)
    tables.check(record, FORECAST_RECORD)
    assert (told.found["unit"] == "mil").all()
    assert record["found"].to_numpy() == pytest.approx(told.found["found_mm"] / 0.0254)
    assert record["inside_90"].value_counts(dropna=False).to_dict() == {
        "yes": 36,
        "no": 4,
        None: 2,
    }


def test_csv_is_safe_and_complete(told, tmp_path: Path) -> None:
    told.found.loc[0, "clearance"] = "=1+1"
    write_record(told, tmp_path / "record.csv")
    text = (tmp_path / "record.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert list(rows[0]) == list(FORECAST_RECORD)
    assert rows[0]["clearance"] == "'=1+1"
    assert len(rows) == len(told.found)


def test_a_workbook_holds_no_formula(told) -> None:
    told.found.loc[0, ["clearance", "note"]] = ["=1+1", "=2+2"]
    book = openpyxl.load_workbook(io.BytesIO(record_bytes(told, ".xlsx")))
    assert book.sheetnames[:2] == ["in words", "inside bands"]
    assert {"every forecast", "every plan", "plans at 10 %"} <= set(book.sheetnames)
    kinds = {cell.data_type for sheet in book for row in sheet.iter_rows() for cell in row}
    assert "f" not in kinds
    assert book["every forecast"].max_row == len(told.found) + 1


def test_markdown_reads_as_a_report(told) -> None:
    text = record_bytes(told, ".md").decode("utf-8")
    for heading in ("# Past forecasts", "## Readings inside their bands", "## Past plans"):
        assert heading in text
    assert "not permission to run" in text


def test_other_endings_are_refused() -> None:
    with pytest.raises(UsageProblem, match=r"\.pdf"):
        check_record_suffix(Path("x.pdf"))


def test_the_terminal_shows_the_same(told) -> None:
    text = "\n".join(hindcast_lines(told, 200))
    assert "36 of 40 readings" in text
    assert "Of 4 plans at 10 %" in text


def test_charts_are_drawn_from_the_record(told) -> None:
    bands = json.loads(bands_chart(told.scores).to_json())
    shares = [row for data in bands["datasets"].values() for row in data if "share" in row]
    assert {row["band"] for row in shares} == {"50 % band", "80 % band", "90 % band"}
    readings = json.loads(readings_chart(told.found).to_json())
    points = [row for data in readings["datasets"].values() for row in data if "place" in row]
    assert len(points) == 40
    outside = [row for row in points if row["state"] == "outside"]
    assert len(outside) == 4
    assert all(abs(row["place"]) > 1 for row in outside)
    assert all(abs(row["place"]) <= 1 for row in points if row["state"] != "outside")


def test_readings_without_dates_are_drawn_by_hours(told) -> None:
    found = tables.conform(told.found.assign(date=pd.NaT), FOUND)
    assert "running hours at the opening" in json.dumps(json.loads(readings_chart(found).to_json()))
    assert misses_table(found)["opened"].str.startswith("at ").all()


def test_undated_machines_are_named() -> None:
    words = "\n".join(summary_words(replace(invented_past(), undated=("N 10", "N 2"))))
    assert "N 2, N 10: no dates" in words
