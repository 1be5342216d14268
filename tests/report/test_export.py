from __future__ import annotations

import csv
import datetime
import io
import math
from dataclasses import replace

import duckdb
import openpyxl
import pandas as pd
import pytest
from invented_trends import NOTHING, forecast_of

from trendwear.errors import OutputProblem, UsageProblem
from trendwear.report.cautions import SHORT_CAUTION
from trendwear.report.export import SUFFIXES, check_suffix, table_bytes, write_table
from trendwear.tables import LIMIT_FORECAST


def csv_rows(forecast) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(table_bytes(forecast, ".csv").decode("utf-8"))))


def workbook(forecast) -> openpyxl.Workbook:
    return openpyxl.load_workbook(io.BytesIO(table_bytes(forecast, ".xlsx")))


def cells(sheet) -> list[dict]:
    names = [cell.value for cell in sheet[1]]
    return [dict(zip(names, row, strict=True)) for row in sheet.iter_rows(min_row=2)]


def test_csv_has_every_row_and_the_agreed_columns_in_order(forecast):
    rows = csv_rows(forecast)
    assert list(rows[0]) == list(LIMIT_FORECAST)
    assert [row["clearance"].lstrip("'") for row in rows] == list(forecast.table["clearance"])


def test_csv_is_unrounded_with_iso_dates_and_empty_for_none(forecast):
    first, unread = csv_rows(forecast)[0], csv_rows(forecast)[6]
    assert float(first["rate_per_1000h"]) == 0.00421
    assert first["date_p05"] == "2027-06-14"
    assert first["readings"] == "9"
    assert unread["clearance_now"] == unread["date_p50"] == ""


def test_csv_text_cannot_become_a_formula_and_negative_numbers_stay_numbers(forecast):
    rows = csv_rows(forecast)
    assert rows[6]["clearance"] == "'=1+1"
    assert rows[6]["notes"].startswith("'+ see")
    assert float(rows[5]["rate_low"]) == -0.0004


def test_csv_quotes_what_would_break_a_row():
    note = 'said "hot";\nsecond line, with comma'
    assert csv_rows(forecast_of({"notes": note}))[0]["notes"] == note


def test_parquet_keeps_types_even_of_empty_columns(forecast, tmp_path):
    path = tmp_path / "table.parquet"
    write_table(forecast, path)
    back = duckdb.read_parquet(str(path))
    assert back.columns == list(LIMIT_FORECAST)
    types = dict(zip(back.columns, map(str, back.types), strict=True))
    assert (types["part_no"], types["date_p95"], types["readings"]) == ("VARCHAR", "DATE", "BIGINT")
    frame = back.df()
    assert frame["rate_per_1000h"].iloc[0] == 0.00421
    assert frame["clearance"].iloc[6] == "=1+1"
    assert frame["date_p05"].iloc[0] == pd.Timestamp("2027-06-14")


def test_xlsx_first_sheet_has_the_agreed_columns_and_typed_cells(forecast):
    sheet = workbook(forecast).worksheets[0]
    rows = cells(sheet)
    assert list(rows[0]) == list(LIMIT_FORECAST)
    assert len(rows) == len(forecast.table)
    steady = next(row for row in rows if row["clearance"].value == "brg 2")
    assert steady["as_of"].value == datetime.datetime(2026, 3, 1)
    assert steady["as_of"].number_format == "yyyy-mm-dd"
    assert steady["date_p05"].number_format == "yyyy-mm"
    assert steady["readings"].value == 9


def test_xlsx_lengths_are_rounded_to_the_gauge(forecast):
    steady = cells(workbook(forecast).worksheets[0])[2]
    assert (steady["clearance_now"].value, steady["clearance_now"].number_format) == (
        0.187,
        "0.000",
    )
    assert (steady["rate_per_1000h"].value, steady["rate_per_1000h"].number_format) == (
        0.0042,
        "0.0000",
    )
    assert steady["hours_to_limit_p50"].value == 14890


def test_xlsx_text_stays_text(forecast):
    rows = cells(workbook(forecast).worksheets[0])
    hostile = next(row for row in rows if row["clearance"].value == "=1+1")
    assert hostile["clearance"].data_type == "s"
    assert hostile["notes"].value.startswith("+ see")


def test_xlsx_says_nothing_where_nothing_is_known():
    row = cells(workbook(forecast_of({**NOTHING, "outcome": "too few readings"})).worksheets[0])[0]
    assert row["clearance_now"].value is None
    assert row["date_p05"].value is None


def test_xlsx_is_ready_to_read_and_to_print(forecast):
    book = workbook(forecast)
    sheet = book["limit forecast"]
    assert sheet.freeze_panes == "C2"
    assert sheet.auto_filter.ref == "A1:AN10"
    assert sheet.print_title_rows == "$1:$1"
    assert sheet.page_setup.orientation == "landscape"
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert len(sheet.conditional_formatting) == 1
    assert book.sheetnames == ["limit forecast", "overview", "governing", "columns", "about"]
    assert book["governing"].max_row == 1 + 3
    assert book["overview"].max_row == 1 + len(forecast.table)


def test_xlsx_explains_every_column_and_cautions(forecast):
    book = workbook(forecast)
    explained = {row[0].value for row in book["columns"].iter_rows(min_row=2)}
    assert set(LIMIT_FORECAST) <= explained
    about = [cell.value for row in book["about"].iter_rows() for cell in row]
    assert SHORT_CAUTION in about
    assert "2026-03-01" in about


def test_markdown_keeps_its_columns_whatever_the_notes_hold(forecast):
    lines = table_bytes(forecast, ".md").decode("utf-8").splitlines()
    table = [line for line in lines if line.startswith("|")]
    assert len(table) == 2 + len(forecast.table)
    assert {line.replace("\\|", "").count("|") for line in table} == {13}
    assert SHORT_CAUTION in lines


def test_an_unknown_ending_names_those_that_are_known(forecast, tmp_path):
    with pytest.raises(UsageProblem) as problem:
        write_table(forecast, tmp_path / "table.docx")
    assert all(suffix in str(problem.value) for suffix in SUFFIXES)
    with pytest.raises(UsageProblem):
        check_suffix(tmp_path / "table")
    check_suffix(tmp_path / "TABLE.CSV")
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_an_old_file_is_replaced_and_nothing_is_left_beside(forecast, tmp_path, suffix):
    path = tmp_path / f"table{suffix.upper()}"
    path.write_text("old")
    write_table(forecast, path)
    assert path.read_bytes() != b"old"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_an_empty_register_can_be_written(tmp_path, suffix):
    nobody = forecast_of({})
    nobody = replace(nobody, table=nobody.table.iloc[:0], decimals=nobody.decimals.iloc[:0])
    write_table(nobody, tmp_path / f"table{suffix}")
    assert (tmp_path / f"table{suffix}").stat().st_size > 0


def test_no_folder_and_a_folder_are_told_apart(forecast, tmp_path):
    with pytest.raises(OutputProblem, match="no folder"):
        write_table(forecast, tmp_path / "missing" / "table.csv")
    (tmp_path / "taken.csv").mkdir()
    with pytest.raises(OutputProblem, match="is a folder"):
        write_table(forecast, tmp_path / "taken.csv")


def test_a_write_that_fails_half_way_keeps_the_old_file(forecast, tmp_path, monkeypatch):
    path = tmp_path / "table.csv"
    path.write_text("old")

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("pathlib.Path.write_bytes", full)
    with pytest.raises(OutputProblem, match="No space left"):
        write_table(forecast, path)
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_numbers_survive_csv_exactly():
    value = 0.1 + 0.2
    row = csv_rows(forecast_of({"clearance_now": value, "limit": math.pi}))[0]
    assert float(row["clearance_now"]) == value
    assert float(row["limit"]) == math.pi
