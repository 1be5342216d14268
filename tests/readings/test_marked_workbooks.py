"""What a workbook says of its cells beside their values, in long tables."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import openpyxl
import pytest
import xlsxwriter
from openpyxl.comments import Comment

from trendwear.readings.decimals import Decimal
from trendwear.readings.headings import Headings
from trendwear.readings.number_formats import Shown, shown_by
from trendwear.readings.sheet import read_paths

HEADINGS = ["machine", "clearance", "date", "run_hours", "state", "value", "unit"]
ROW = ["K-1", "brg", "2020-05-01", 5, "check"]


def workbook(
    path: Path, rows: Sequence[tuple[float | str, str, str]], heading: str = "value"
) -> Path:
    """Write value, its number format and the unit of each row."""
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("readings")
        sheet.write_row(0, 0, [*HEADINGS[:5], heading, "unit"])
        for number, (value, code, unit) in enumerate(rows, start=1):
            sheet.write_row(number, 0, [*ROW[:4], "check"])
            sheet.write(number, 5, value, book.add_format({"num_format": code}))
            sheet.write(number, 6, unit)
    return path


@pytest.mark.parametrize(
    ("code", "shown"),
    [
        ("General", None),
        ("0.000", None),
        ('#,##0" h"', None),
        ("d-mmm-yy", None),
        ('0.0" mil"', Shown("mil")),
        ('0.0\\ "thou"', Shown("mil")),
        ('0.0000"in"', Shown("in")),
        ('0.000\\"', Shown("in")),
        ("0.000\\m\\m", Shown("mm")),
        ('0" mil dia"', Shown("mil", "diametral")),
        ('0.0" mil";-0.0" mil"', Shown("mil")),
        ('0.0" mil";[Red]-0.0" mil";"none"', Shown("mil")),
        ('[<1]0.000" in";0.0" mil"', Shown(doubt='[<1]0.000" in";0.0" mil"')),
        ("0.0%", Shown(percent=True)),
        ("0.0,", Shown(doubt="0.0,")),
        ("#,##0.00", None),
        ('_("$"* #,##0.00_)', None),
        ('"T-"000', None),
    ],
)
def test_what_a_number_format_shows(code: str, shown: Shown | None) -> None:
    assert shown_by(code) == shown


def test_a_shown_unit_is_the_unit_of_the_cell(tmp_path: Path) -> None:
    rows = [
        (6.5, '0.0" mil"', ""),
        (0.25, '0.000"in"', ""),
        (0.16, '0.00" mm"', "mm"),
        (6.5, '0.0" mil"', "mm"),
        (0.065, "0.0%", "mm"),
        (0.065, "0.000", "mm"),
        ("7 um", '0.0" mil"', ""),
    ]
    incoming = read_paths([workbook(tmp_path / "readings.xlsx", rows)])
    read = incoming.sheets["readings"]
    assert read[["cell", "value", "value_unit", "value_written"]].values.tolist() == [
        ["F2", 6.5, "mil", "6.5 mil"],
        ["F3", 0.25, "in", "0.25 in"],
        ["F4", 0.16, "mm", "0.16 mm"],
        ["F7", 0.065, None, "0.065"],
        ["F8", 7.0, "um", "7 um"],
    ]
    faults = incoming.faults
    assert faults[["cell", "row", "column", "written"]].values.tolist() == [
        ["F5", 5, "value", "6.5 mil"],
        ["F6", 6, "value", "6.5%"],
    ]
    assert "format shows mil, and the sheet says mm" in faults["reason"][0]


def test_a_shown_unit_against_the_heading(tmp_path: Path) -> None:
    rows = [(6.5, '0.0" mil"', ""), (0.16, '0.00" mm"', "")]
    path = workbook(tmp_path / "readings.xlsx", rows, "value [mm]")
    incoming = read_paths([path])
    assert incoming.sheets["readings"]["cell"].tolist() == ["F3"]
    assert incoming.faults["cell"].tolist() == ["F2"]


def test_a_percentage_of_a_plain_number_is_a_number(tmp_path: Path) -> None:
    path = tmp_path / "risks.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("risks")
        sheet.write_row(0, 0, ["consequence", "accepted"])
        sheet.write(1, 0, "leak")
        sheet.write(1, 1, 0.05, book.add_format({"num_format": "0%"}))
    incoming = read_paths([path])
    assert incoming.faults.empty
    assert incoming.sheets["risks"]["accepted"].tolist() == [0.05]
    assert incoming.sheets["risks"]["cell"].tolist() == ["A2"]


@pytest.mark.parametrize(
    ("decimal", "hours"),
    [(None, [11.125]), (Decimal.POINT, [11.0, 11.125]), (Decimal.COMMA_STATED, [11000.0, 11.125])],
)
def test_hours_typed_as_text(tmp_path: Path, decimal: Decimal | None, hours: list[float]) -> None:
    path = tmp_path / "readings.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("readings")
        sheet.write_row(0, 0, HEADINGS)
        sheet.write_row(1, 0, [*ROW, 6, "mil"])
        sheet.write_row(2, 0, [*ROW, 6, "mil"])
        sheet.write_string(1, 3, "11.000")
        sheet.write_number(2, 3, 11.125)
    incoming = read_paths([path], Headings(decimal=decimal))
    assert incoming.sheets["readings"]["run_hours"].tolist() == hours
    assert incoming.faults["cell"].tolist() == ([] if decimal else ["D2"])


def test_what_is_hidden_and_commented_is_named(tmp_path: Path) -> None:
    path = tmp_path / "plant.xlsx"
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    sheet.title = "readings"
    sheet.append(HEADINGS)
    for _ in range(3):
        sheet.append([*ROW, 6, "mil"])
    sheet["F3"].comment = Comment("estimated from the feeler", "shop")
    sheet["F4"].comment = Comment("new gauge", "shop")
    sheet.row_dimensions[3].hidden = True
    sheet.column_dimensions["D"].hidden = True
    hidden = book.create_sheet("run_log")
    hidden.append(["machine", "date", "run_hours"])
    hidden.append(["K-1", "2021-01-01", 9])
    hidden.sheet_state = "veryHidden"
    book.save(path)
    incoming = read_paths([path])
    assert len(incoming.sheets["readings"]) == 3
    assert len(incoming.sheets["run_log"]) == 1
    assert [note.partition(": ")[2] for note in incoming.notes][:5] == [
        "hidden rows are read too: row 3",
        "hidden columns are read too: column D",
        "look again: comments that doubt their cell: F3 'estimated from the feeler'",
        "comments are not read: F4",
        "the sheet is hidden in the workbook, and was read",
    ]


def test_rows_of_a_text_file_have_no_cell(tmp_path: Path) -> None:
    path = tmp_path / "readings.csv"
    path.write_text(f"{','.join(HEADINGS)}\nK,brg,2020,5,check,6,mil\nK,brg,2020,5,check,6?,mil\n")
    incoming = read_paths([path])
    assert incoming.sheets["readings"]["cell"].tolist() == [None]
    assert incoming.faults["cell"].tolist() == [None]


def test_words_keep_their_cell(tmp_path: Path) -> None:
    path = workbook(tmp_path / "readings.xlsx", [("renewed", "@", ""), ("not taken", "@", "")])
    incoming = read_paths([path])
    assert incoming.sheets["work"]["cell"].tolist() == ["F2"]
    assert incoming.sheets["events"]["cell"].tolist() == ["F3"]
