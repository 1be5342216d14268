"""``trendwear draft``: from readings alone to a forecast, confirmed once and used ever after."""

from __future__ import annotations

import datetime
from pathlib import Path

import openpyxl
import pytest
from typer.testing import CliRunner

import trendwear
from trendwear.cli import app
from trendwear.errors import UsageProblem

READINGS = """machine,clearance,date,run_hours,state,value,unit
P-1,IB brg,2012-03-01,10000,as-left,5.0,mil
P-1,IB brg,2015-03-01,30000,as-found,6.4,mil
P-1,Brg inbd,2018-03-01,50000,as-found,0.198,mm
P-1,Brg inbd,2021-03-01,70000,as-found,0.231,mm
P-1,#1 brg,2024-03-01,90000,as-found,10.6,mil
"""


@pytest.fixture
def sheets(tmp_path) -> Path:
    path = tmp_path / "readings.csv"
    path.write_text(READINGS)
    return path


def run(*words: object):
    return CliRunner().invoke(app, [str(word) for word in words])


def filled(path: Path) -> Path:
    """Fill the yellow cells as the person at the site would."""
    book = openpyxl.load_workbook(path)
    says = {"basis": "diametral", "moves": "opens", "unit": "mil"}
    for name in ("clearances", "names"):
        sheet = book[name]
        headings = [cell.value for cell in sheet[4]]
        for row in sheet.iter_rows(min_row=5):
            cells = dict(zip(headings, row, strict=True))
            if not row[0].value:
                continue
            answers = {**says, "limit": "12"} if name == "clearances" else {}
            if name == "names":
                answers = {"clearance": cells["(perhaps)"].value}
            for heading, answer in answers.items():
                cells[heading].value = cells[heading].value or answer
    place = path.with_name("filled.xlsx")
    book.save(place)
    return place


def test_draft_fill_load_forecast(tmp_path, sheets):
    store, out = tmp_path / "s.duckdb", tmp_path / "register.xlsx"
    done = run("draft", sheets, "--out", out, "--store", store)
    assert done.exit_code == 0
    assert "1 clearance of 1 machine; 1 spelling matched, 1 for you to decide" in done.stdout
    assert f"trendwear load {out} {sheets}" in done.stdout
    assert not store.exists()
    report = trendwear.load([filled(out), sheets], store=store)
    assert report.clean
    assert report.waiting.empty
    assert [note for note in report.notes if "not read" in note] == []
    table = trendwear.forecast(store, as_of=datetime.date(2024, 4, 1))
    (row,) = table.itertuples()
    assert row.readings == 5
    assert row.rate_per_1000h == pytest.approx(0.069, abs=0.01)


def test_nothing_is_joined_before_the_person_loads_it(tmp_path, sheets):
    store = tmp_path / "s.duckdb"
    run("load", sheets, "--store", store)
    run("draft", "--store", store, "--out", tmp_path / "register.xlsx")
    again = trendwear.load([sheets], store=store)
    assert again.waiting["clearance"].nunique() == 3


def test_what_waits_in_the_store_is_drafted_and_a_confirmed_spelling_lasts(tmp_path, sheets):
    store, out = tmp_path / "s.duckdb", tmp_path / "register.xlsx"
    told = run("load", sheets, "--store", store).stdout
    assert f"trendwear draft --store {store} --out register.xlsx" in told
    run("draft", "--store", store, "--out", out)
    report = trendwear.load([filled(out)], store=store)
    assert report.count_of("readings").added == 5
    later = tmp_path / "later.csv"
    later.write_text(READINGS.splitlines()[0] + "\nP-1,BRG INBD,2026-03-01,99000,as-found,11,mil\n")
    assert trendwear.load([later], store=store).waiting.empty
    done = run("draft", "--store", store, "--out", tmp_path / "none.xlsx")
    assert done.stdout.startswith("Nothing to propose")
    assert not (tmp_path / "none.xlsx").exists()


def test_loaded_unfilled_it_joins_only_what_is_filled_in(tmp_path, sheets):
    store, out = tmp_path / "s.duckdb", tmp_path / "register.xlsx"
    run("draft", sheets, "--out", out, "--store", store)
    report = trendwear.load([out, sheets], store=store)
    assert report.count_of("clearances").added == 0
    assert report.count_of("readings").added == 0
    assert set(report.faults["column"]) >= {"basis", "moves"}


def test_a_folder_of_csv_files_is_loaded_back(tmp_path, sheets):
    store, out = tmp_path / "s.duckdb", tmp_path / "register"
    assert run("draft", sheets, "--out", out, "--store", store).exit_code == 0
    path = out / "clearances.csv"
    lines = path.read_text(encoding="utf-8-sig").splitlines()
    lines[1] = lines[1].replace("sleeve bearing,,,,", "sleeve bearing,diametral,opens,mil,")
    path.write_text("\n".join(lines))
    report = trendwear.load([out, sheets], store=store)
    assert report.count_of("readings").added == 4
    assert not [note for note in report.notes if "not read" in note]
    assert report.faults["column"].tolist() == ["as_written"]


def test_rows_that_cannot_be_read_are_told(tmp_path, sheets):
    sheets.write_text(READINGS + "P-1,IB brg,2025-03-01,91000,as-found,nine or so,mil\n")
    done = run("draft", sheets, "--out", tmp_path / "r.xlsx", "--store", tmp_path / "s.duckdb")
    assert "1 row or sheet could not be read and is left out" in done.stdout


@pytest.mark.parametrize("out", ["register.pdf", "register.csv"])
def test_another_ending_is_usage(tmp_path, sheets, out):
    done = run("draft", sheets, "--out", tmp_path / out)
    assert isinstance(done.exception, UsageProblem)


def test_neither_sheets_nor_a_store_is_usage(tmp_path):
    done = run("draft", "--out", tmp_path / "r.xlsx", "--store", tmp_path / "none.duckdb")
    assert isinstance(done.exception, UsageProblem)


def test_a_forecast_without_a_register_names_the_way(tmp_path, sheets):
    store = tmp_path / "s.duckdb"
    run("load", sheets, "--store", store)
    told = run("forecast", "--store", store).stdout
    assert "5 rows wait until the register knows 3 positions" in told
    assert f"trendwear draft --store {store} --out register.xlsx" in told


def test_a_name_that_looks_like_a_formula_comes_back_as_it_is(tmp_path, sheets):
    sheets.write_text(READINGS.replace("IB brg", "=brg IB"))
    out = tmp_path / "register"
    run("draft", sheets, "--out", out, "--store", tmp_path / "s.duckdb")
    assert "P-1,=brg IB," in (out / "clearances.csv").read_text(encoding="utf-8-sig")
    book = tmp_path / "register.xlsx"
    run("draft", sheets, "--out", book, "--store", tmp_path / "s.duckdb")
    assert openpyxl.load_workbook(book)["clearances"]["B5"].data_type == "s"


def test_a_renamed_machine_is_proposed_under_its_present_tag_alone(tmp_path, sheets):
    sheets.write_text(READINGS.replace("P-1,Brg inbd", "OLD 1,Brg inbd"))
    names = tmp_path / "names.csv"
    names.write_text("machine,as_written,former_tag\nP-1,OLD 1,yes\n")
    store, out = tmp_path / "s.duckdb", tmp_path / "register.xlsx"
    done = run("draft", sheets, names, "--out", out, "--store", store)
    assert "1 clearance of 1 machine; 1 spelling matched" in done.stdout
    run("load", sheets, names, "--store", store)
    done = run("draft", "--out", out, "--store", store)
    assert "1 clearance of 1 machine; 1 spelling matched" in done.stdout


def test_sheets_of_which_nothing_can_be_read_are_something_to_mend(tmp_path):
    done = run("draft", tmp_path / "lost.csv", "--out", tmp_path / "r.xlsx")
    assert done.exit_code == 1
    assert "1 row or sheet could not be read" in done.stdout
