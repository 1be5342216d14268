"""Large files that come again just as they were are not read again."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from trendwear.readings.headings import Headings
from trendwear.store import intake, same_again
from trendwear.store.intake import Loading, load, preview

SHEET = """machine,clearance,kind,basis,moves,unit,limit,date,run_hours,state,value
M,ring,ring,diametral,opens,mm,1,2014-01-01,1000,as-left,0.3
M,ring,ring,diametral,opens,mm,1,2016-01-01,9000,as-found,{value}
"""


@pytest.fixture
def sheet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(same_again, "LARGE_BYTES", 0)
    path = tmp_path / "readings.csv"
    path.write_text(SHEET.format(value=0.35))
    return path


def told(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Names of the files that are read from now on."""
    read: list[str] = []
    true = intake.read_paths

    def reading(paths, *others):
        read.extend(path.name for path in paths)
        return true(paths, *others)

    monkeypatch.setattr(intake, "read_paths", reading)
    return read


def test_the_same_file_is_not_read_again(
    sheet: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = tmp_path / "s.duckdb"
    assert load(sheet, store=store).count_of("readings").added == 2
    read = told(monkeypatch)
    for report in (load(sheet, store=store), preview(sheet, store=store)):
        assert read == []
        assert report.clean
        assert not report.changed
        assert "just as load 1 took it in" in report.notes[0]


def test_a_changed_file_is_read(
    sheet: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = tmp_path / "s.duckdb"
    load(sheet, store=store)
    sheet.write_text(SHEET.format(value=0.36))
    read = told(monkeypatch)
    assert not load(sheet, store=store).clean  # a changed cell is a conflict
    assert read == ["readings.csv"]


def test_a_file_is_read_again_after_another_load_or_with_headings(
    sheet: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store, other = tmp_path / "s.duckdb", tmp_path / "machines.csv"
    load(sheet, store=store)
    read = told(monkeypatch)
    load(sheet, store=store, headings=Headings())
    other.write_text("machine,class\nM,mill\n")
    load(other, store=store)
    load(sheet, store=store)
    assert read == ["readings.csv", "machines.csv", "readings.csv"]


def test_a_file_with_refused_or_waiting_rows_is_read_again(
    sheet: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = tmp_path / "s.duckdb"
    sheet.write_text(SHEET.format(value="maybe"))
    assert not load(sheet, store=store).clean
    read = told(monkeypatch)
    assert not load(sheet, store=store).clean
    assert read == ["readings.csv"]


def test_a_load_tells_how_far_it_is(tmp_path: Path) -> None:
    path = tmp_path / "readings.csv"
    head, first, *_ = SHEET.splitlines()
    with path.open("w", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(head.split(","))
        for number in range(6_000):
            cells = first.split(",")
            cells[8] = str(number * 30)
            cells[7] = ""
            rows.writerow(cells)
    steps: list[tuple[str, int]] = []
    how = Loading(progress=lambda what, done, of: steps.append((what, done)))
    load(path, store=tmp_path / "s.duckdb", how=how)
    assert ("reading readings.csv", 5_000) in steps
    assert [what for what, _ in steps][-3:] == [
        "taking in the register",
        "taking in readings",
        "looking again",
    ]
