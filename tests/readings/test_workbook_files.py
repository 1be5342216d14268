"""Workbooks: typed cells, errors, formulas, merged titles, and sheets that are not ours."""

from __future__ import annotations

import zipfile
from datetime import datetime, timedelta
from pathlib import Path

import pandas as pd
import pytest
import xlsxwriter
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from trendwear.readings import workbooks
from trendwear.readings.sheet import read_paths

HEADINGS = ["machine", "clearance", "date", "run_hours", "state", "value", "unit"]

OPEN_DOCUMENT = """<?xml version="1.0" encoding="UTF-8"?>
<office:document-content
 xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
 xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"
 xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"
 xmlns:calcext="urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0">
<office:body><office:spreadsheet><table:table table:name="{tab}">{rows}</table:table>
</office:spreadsheet></office:body></office:document-content>"""
KIND = "application/vnd.oasis.opendocument.spreadsheet"
MANIFEST = (
    '<?xml version="1.0"?>'
    '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
    f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{KIND}"/>{{more}}'
    "</manifest:manifest>"
)
LOCKED = (
    '<manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml">'
    "<manifest:encryption-data/></manifest:file-entry>"
)
BLANK_ROWS = (
    '<table:table-row table:number-rows-repeated="{}">'
    '<table:table-cell table:number-columns-repeated="16384"/></table:table-row>'
)


def text_cell(text: str) -> str:
    return (
        f'<table:table-cell office:value-type="string"><text:p>{text}</text:p></table:table-cell>'
    )


def row_of(*cells: str) -> str:
    return f"<table:table-row>{''.join(cells)}</table:table-row>"


def write_ods(path: Path, rows: str, more: str = "") -> Path:
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("mimetype", KIND)
        archive.writestr("META-INF/manifest.xml", MANIFEST.format(more=more))
        archive.writestr("content.xml", OPEN_DOCUMENT.format(tab="readings", rows=rows))
    return path


@pytest.fixture
def workbook(tmp_path: Path) -> Path:
    """A sheet as people make it: a merged title, the table begun in column B, typed cells."""
    path = tmp_path / "plant.xlsx"
    book = xlsxwriter.Workbook(path)
    sheet = book.add_worksheet("Readings")
    day = book.add_format({"num_format": "dd/mm/yyyy"})
    span = book.add_format({"num_format": "[h]:mm"})
    sheet.merge_range("B2:H2", "Clearances, all machines")
    sheet.write_row(3, 1, HEADINGS)
    rows: list[tuple[object, ...]] = [
        (101, "brg DE", datetime(2020, 5, 1), 32000, "as-found", 0.1 + 0.2, "mm"),
        (101, "brg DE", datetime(2020, 5, 2), 32000, "As Left", "6½ thou", ""),
        (101, "brg DE", 43952, 32000, "check", 6, "mil"),
        (101, "brg DE", 1998, timedelta(hours=32000), "check", datetime(2026, 1, 16), "mil"),
    ]
    for place, row in enumerate(rows, start=5):
        for column, value in enumerate(row, start=1):
            if isinstance(value, datetime):
                sheet.write_datetime(place, column, value, day)
            elif isinstance(value, timedelta):
                sheet.write_datetime(place, column, value, span)
            else:
                sheet.write(place, column, value)
    sheet.write_row(9, 1, [101, "brg DE", "2020", "", "check"])
    sheet.write_formula(9, 6, "=1/0", None, "#DIV/0!")
    sheet.write_row(10, 1, [101, "brg DE", "2020", "", "check"])
    sheet.write_formula(10, 6, '=A1&"<"', None, "")
    sheet.write_row(11, 1, [101, "brg DE", "2020", "", "check"])
    sheet.write_formula(11, 6, "=3+4", None, 7)
    book.add_worksheet("notes to self").write(0, 0, "mind the gap")
    book.add_worksheet("run_log")
    book.close()
    return path


def test_a_workbook(workbook: Path) -> None:
    incoming = read_paths([workbook])
    rows = incoming.sheets["readings"]
    assert rows["row"].tolist() == [6, 7, 12]
    assert rows["value"].tolist() == [0.3, 6.5, 7.0]
    assert rows["value_step"].tolist() == [0.1, 0.5, 1.0]
    assert rows["value_unit"].tolist() == [None, "mil", None]
    assert rows["machine"].tolist() == ["101"] * 3
    assert rows["date"].tolist()[:2] == [pd.Timestamp(2020, 5, 1), pd.Timestamp(2020, 5, 2)]
    assert rows["sheet"].unique().tolist() == ["Readings"]


def test_cells_that_a_workbook_spoils_are_refused(workbook: Path) -> None:
    faults = read_paths([workbook]).faults
    assert faults[["row", "column", "written"]].values.tolist() == [
        [8, "date", "43952"],
        [9, "run_hours", "32000:00:00"],
        [9, "value", "2026-01-16"],
        [10, "value", "#DIV/0!"],
        [11, "value", '=A1&"<"'],
    ]
    assert "1/16 or 3-4" in faults["reason"][2]
    assert "error" in faults["reason"][3]
    assert "formula" in faults["reason"][4]


def test_sheets_that_are_not_ours_are_named(workbook: Path) -> None:
    notes = read_paths([workbook]).notes
    assert "plant.xlsx: not one of our sheets, not read: notes to self" in notes
    assert "plant.xlsx, run_log: it is empty" in notes


def test_a_lone_sheet_is_known_by_its_headings(tmp_path: Path) -> None:
    path = tmp_path / "log.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, HEADINGS)
        sheet.write_row(1, 0, ["K", "brg", "2020-05-01", 5, "check", 6, "mil"])
        book.add_worksheet()
    incoming = read_paths([path])
    assert incoming.sheets["readings"]["sheet"].tolist() == ["Sheet1"]
    assert any("by its headings" in note for note in incoming.notes)


def test_an_error_in_a_cell_beyond_the_others(tmp_path: Path) -> None:
    path = tmp_path / "readings.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("readings")
        sheet.write_row(0, 0, [*HEADINGS, "starts"])
        sheet.write_row(1, 0, ["K", "brg", "2020-05-01", 5, "check", 6, "mil"])
        sheet.write_formula(1, 7, "=NA()", None, "#N/A")
        sheet.write_formula(3, 0, "=B2", None, "")
    faults = read_paths([path]).faults
    assert faults["row"].tolist()[:2] == [2, 4]
    assert faults["written"].tolist()[0] == "#N/A"


def test_an_open_document_workbook(tmp_path: Path) -> None:
    number = '<table:table-cell office:value-type="float" office:value="6.5"/>'
    day = '<table:table-cell office:value-type="date" office:date-value="2020-05-01"/>'
    error = (
        '<table:table-cell office:value-type="string" office:string-value=""'
        ' calcext:value-type="error" table:formula="of:=1/0"><text:p>#DIV/0!</text:p>'
        "</table:table-cell>"
    )
    start = (text_cell("K"), text_cell("brg"), day, text_cell("~5 ±1"), text_cell("check"))
    rows = (
        BLANK_ROWS.format(2)
        + row_of(*map(text_cell, HEADINGS))
        + row_of(*start, number, text_cell("mil"))
        + row_of(*start, error, text_cell("mil"))
        + BLANK_ROWS.format(1_048_000)
    )
    incoming = read_paths([write_ods(tmp_path / "plant.ods", rows)])
    row = incoming.sheets["readings"].iloc[0]
    assert (row["row"], row["value"], row["run_hours_spread"]) == (4, 6.5, 1.0)
    assert row["date"] == pd.Timestamp(2020, 5, 1)
    assert incoming.faults[["row", "column", "written"]].values.tolist() == [
        [5, "value", "#DIV/0!"]
    ]


def test_a_stray_cell_far_away_is_refused_not_held_in_memory(tmp_path: Path) -> None:
    path = tmp_path / "far.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("readings")
        sheet.write(0, 0, "machine")
        sheet.write(1_048_575, 16_383, "x")
    far = row_of(text_cell("a")) + BLANK_ROWS.format(1_048_000)
    far += row_of('<table:table-cell table:number-columns-repeated="16000"/>', text_cell("z"))
    faults = read_paths([path, write_ods(tmp_path / "far.ods", far)]).faults
    assert faults["file"].tolist() == ["far.xlsx", "far.ods"]
    assert "reaches further" in faults["reason"][0]


def test_a_password(tmp_path: Path) -> None:
    locked = tmp_path / "locked.xlsx"
    locked.write_bytes(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600))
    other = write_ods(tmp_path / "locked.ods", "", LOCKED)
    faults = read_paths([locked, other]).faults
    assert all("password" in reason for reason in faults["reason"])
    assert len(faults) == 2


def test_a_damaged_workbook_leaves_its_neighbours_alone(workbook: Path) -> None:
    whole = workbook.read_bytes()
    folder = workbook.parent
    (folder / "cut.xlsx").write_bytes(whole[: len(whole) // 2])
    (folder / "text.xlsx").write_text("not a workbook")
    (folder / "none.xlsx").write_bytes(b"")
    with zipfile.ZipFile(folder / "zip.xlsx", "w") as archive:
        archive.writestr("hello.txt", "hello")
    with zipfile.ZipFile(workbook) as old, zipfile.ZipFile(folder / "xml.xlsx", "w") as new:
        for name in old.namelist():
            data = old.read(name)
            new.writestr(name, data[: len(data) // 2] if "sheet1" in name else data)
    incoming = read_paths([folder])
    spoilt = incoming.faults[incoming.faults["row"] == 0]
    assert spoilt["file"].tolist() == ["cut.xlsx", "none.xlsx", "text.xlsx", "xml.xlsx", "zip.xlsx"]
    assert spoilt["column"].isna().all()
    assert len(incoming.sheets["readings"]) == 3
    assert [file.name for file in incoming.files] == ["plant.xlsx"]


def test_a_workbook_that_unpacks_to_too_much(
    workbook: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(workbooks, "_MOST_BYTES", 5_000)
    faults = read_paths([workbook]).faults
    assert faults["reason"].tolist() == ["it unpacks to more than a gigabyte"]


spoiling = st.lists(st.tuples(st.floats(0, 1, exclude_max=True), st.binary(min_size=1, max_size=3)))


@settings(
    max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(spoiling)
def test_law_a_damaged_workbook_is_a_fault_never_a_crash(
    workbook: Path, spoilt: list[tuple[float, bytes]]
) -> None:
    content = bytearray(workbook.read_bytes())
    for where, what in spoilt:
        start = int(where * len(content))
        content[start : start + len(what)] = what
    path = workbook.with_name("spoilt.xlsx")
    path.write_bytes(content)
    incoming = read_paths([path])
    assert set(incoming.faults["file"]) <= {"spoilt.xlsx"}
