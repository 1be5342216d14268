"""From a workbook laid out in the shop's own way to a store, and each number back to its cell."""

from __future__ import annotations

from pathlib import Path

import pytest
import xlsxwriter
from typer.testing import CliRunner

from trendwear.cli import app
from trendwear.readings.headings import read_headings
from trendwear.store.database import reader
from trendwear.store.intake import load
from trendwear.store.queries import query

REGISTER = (
    "machine,clearance,kind,basis,moves,unit,limit\n"
    "T-101,Brg DE,sleeve bearing,diametral,opens,mil,12\n"
)


@pytest.fixture
def workbook(tmp_path: Path) -> Path:
    """Two tabs of one look, one of them with an opening that stands there twice."""
    path = tmp_path / "shop.xlsx"
    with xlsxwriter.Workbook(path) as book:
        for name, day in (("T-101 2015", "2015-03-01"), ("T-101 2019", "2019-05-04")):
            sheet = book.add_worksheet(name)
            sheet.write_row(0, 0, ["Machine", "T-101", "", "Date", day])
            sheet.write_row(1, 0, ["Hours", 8000 if "2015" in name else 32000])
            sheet.write_row(3, 0, ["Position", "As found (mils)", "As left (mils)"])
            sheet.write_row(4, 0, ["Brg DE", 6.5, 5])
            sheet.write_row(5, 0, ["Ring 1", "6?", 4])
    (tmp_path / "clearances.csv").write_text(REGISTER, encoding="utf-8")
    return path


def run(*words: str) -> tuple[int, str]:
    done = CliRunner().invoke(app, list(words))
    return done.exit_code, done.output


def test_propose_confirm_load_and_trace(workbook: Path, tmp_path: Path) -> None:
    store, site = tmp_path / "store.duckdb", tmp_path / "site.toml"
    code, told = run("load", str(workbook), "--store", str(store))
    assert code == 1
    assert "trendwear layout shop.xlsx" in " ".join(told.split())

    code, told = run("layout", str(workbook), "--out", str(site))
    assert code == 0
    assert "machine: B1 'T-101'" in told
    assert "B5: T-101 | Brg DE | 2015-03-01 | 8000 | as-found | 6.5 | mil" in told
    assert "refused, B6 '6?'" in told
    assert not store.exists() or load([], store=store).counts == ()
    [layout] = read_headings(site).layouts
    assert layout.tabs == ("T-101 *",)

    register = str(tmp_path / "clearances.csv")
    code, told = run(
        "load", str(workbook), register, "--store", str(store), "--headings", str(site)
    )
    assert code == 1
    assert 'T-101 2019, B6, value "6?"' in told
    code, told = run("history", "T-101", "Brg DE", "--store", str(store))
    assert code == 0
    assert "T-101 2019" in told
    assert "B5" in told
    assert "C5" in told


def test_the_store_knows_the_cell(workbook: Path, tmp_path: Path) -> None:
    site, store = tmp_path / "site.toml", tmp_path / "store.duckdb"
    run("layout", str(workbook), "--out", str(site))
    paths = [workbook, tmp_path / "clearances.csv"]
    load(paths, store=store, headings=read_headings(site))
    with reader(store) as connection:
        readings = connection.execute(query("readings")).df()
        refused = connection.execute("select sheet, cell, row, written from refused").fetchall()
        waits = connection.execute("select sheet, cell from waiting order by sheet").fetchall()
    assert readings[["sheet", "cell", "row", "written"]].values.tolist() == [
        ["T-101 2015", "B5", 5, "6.5"],
        ["T-101 2015", "C5", 5, "5"],
        ["T-101 2019", "B5", 5, "6.5"],
        ["T-101 2019", "C5", 5, "5"],
    ]
    assert sorted(refused) == [("T-101 2015", "B6", 6, "6?"), ("T-101 2019", "B6", 6, "6?")]
    assert waits == [("T-101 2015", "C6"), ("T-101 2019", "C6")]
    again = load(paths, store=store, headings=read_headings(site))
    assert not again.changed


def test_an_opening_that_stands_there_twice_is_refused_with_both_cells(tmp_path: Path) -> None:
    path, site = tmp_path / "twice.xlsx", tmp_path / "site.toml"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("T-101")
        sheet.write_row(0, 0, ["Position", "2019-05-04", "2019-05-04"])
        sheet.write_row(1, 0, ["", "As found", "As found"])
        sheet.write_row(2, 0, ["Brg DE", "6 mil", "7 mil"])
    site.write_text(
        '[layout.a]\ntab_name = "{machine}"\ndate = "row 1"\nstate = "row 2"\n'
        'positions = "A3 down"\nvalues = "B:C"\n',
        encoding="utf-8",
    )
    (tmp_path / "clearances.csv").write_text(REGISTER, encoding="utf-8")
    report = load(
        [path, tmp_path / "clearances.csv"],
        store=tmp_path / "store.duckdb",
        headings=read_headings(site),
    )
    assert sorted(report.faults["cell"]) == ["B3", "C3"]
    assert all("same key" in reason for reason in report.faults["reason"])


def test_tabs_beside_sheets_of_the_form_are_pointed_out(workbook: Path, tmp_path: Path) -> None:
    path = tmp_path / "both.xlsx"
    with xlsxwriter.Workbook(path) as book:
        book.add_worksheet("clearances").write_row(0, 0, REGISTER.splitlines()[0].split(","))
        sheet = book.add_worksheet("T-101 2019")
        sheet.write_row(0, 0, ["Position", "As found"])
        sheet.write_row(1, 0, ["Brg DE", "6 mil"])
        book.add_worksheet("scribbles").write_row(0, 0, ["mind", "the gap"])
    report = load([path], store=tmp_path / "store.duckdb")
    [told] = [note for note in report.notes if "trendwear layout" in note]
    assert "T-101 2019" in told
    assert "scribbles" not in told
    (tmp_path / "own").mkdir()
    own = tmp_path / "own" / "readings.xlsx"
    with xlsxwriter.Workbook(own) as book:
        book.add_worksheet("readings").write_row(0, 0, ["machine"])
    assert "load them as they are" in run("layout", str(own))[1]


def test_what_the_verb_refuses(workbook: Path, tmp_path: Path) -> None:
    site = tmp_path / "site.toml"
    site.write_text("", encoding="utf-8")
    for words, part in (
        (("layout", str(tmp_path / "clearances.csv")), "workbooks only"),
        (("layout", str(tmp_path / "none.xlsx")), "no such file"),
        (("layout", str(workbook), "--out", str(site)), "a file of that name already"),
        (("layout", str(workbook), "--out", str(tmp_path / "no" / "x.toml")), "cannot be written"),
    ):
        done = CliRunner().invoke(app, list(words))
        assert done.exit_code == 1
        assert part in str(done.exception)
