"""The blank workbook: loaded empty, filled in, and as the person at the keyboard meets it."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from trendwear.readings.form import SHEETS
from trendwear.readings.sheet import read_paths
from trendwear.readings.template import template_bytes
from trendwear.readings.template_examples import example_of

HEADINGS, FIRST = 4, 5


@pytest.fixture
def path(tmp_path) -> Path:
    place = tmp_path / "blank.xlsx"
    place.write_bytes(template_bytes())
    return place


@pytest.fixture
def book(path) -> openpyxl.Workbook:
    return openpyxl.load_workbook(path)


def columns_of(sheet) -> dict[str, str]:
    return {cell.value: cell.column_letter for cell in sheet[HEADINGS] if cell.value}


def rules_of(sheet, column: str) -> list:
    letter = columns_of(sheet)[column]
    return [
        rule
        for rule in sheet.data_validations.dataValidation
        if str(rule.sqref).startswith(f"{letter}{FIRST}:")
    ]


def format_of(sheet, column: str) -> str:
    """The number format of a column; neighbours of one format stand as one."""
    place = openpyxl.utils.column_index_from_string(columns_of(sheet)[column])
    (group,) = (d for d in sheet.column_dimensions.values() if d.min <= place <= d.max)
    return group.number_format


def test_every_column_of_every_sheet_is_there_in_the_forms_order(book):
    for name, form in SHEETS.items():
        assert tuple(columns_of(book[name])) == form.names


def test_an_empty_one_has_no_fault_and_one_kind_note(path):
    incoming = read_paths([path])
    assert incoming.faults.empty
    assert incoming.notes == ("blank.xlsx: nothing is filled in yet below the headings",)
    assert all(rows.empty for rows in incoming.sheets.values())


def test_the_examples_written_below_the_headings_are_all_understood(path, book, tmp_path):
    for name, form in SHEETS.items():
        for place, column in enumerate(form.columns, start=1):
            book[name].cell(FIRST, place, example_of(form, column))
    filled = tmp_path / "filled.xlsx"
    book.save(filled)
    incoming = read_paths([filled])
    assert incoming.faults.empty
    assert incoming.notes == ()
    assert {name: len(rows) for name, rows in incoming.sheets.items()} == dict.fromkeys(SHEETS, 1)


def test_an_example_stands_above_every_heading_and_says_something(book):
    for name, form in SHEETS.items():
        for place, column in enumerate(form.columns, start=1):
            assert book[name].cell(HEADINGS - 1, place).value.endswith(example_of(form, column))
            assert book[name].cell(HEADINGS - 2, place).value == column.meaning


def test_one_filled_row_makes_no_note_of_columns(path, book, tmp_path):
    for place, text in enumerate(["P-1", "brg", "2020-05-01", "100", "as-found", "1/16 in"], 1):
        book["readings"].cell(FIRST, place, text)
    filled = tmp_path / "filled.xlsx"
    book.save(filled)
    incoming = read_paths([filled])
    assert incoming.sheets["readings"]["value"].tolist() == [0.0625]
    (note,) = incoming.notes
    assert note.endswith("and 12 more: there are headings and no rows")


def test_what_a_spreadsheet_program_would_spoil_is_text(book):
    for column in ("value", "date", "clearance", "opening", "angle"):
        assert format_of(book["readings"], column) == "@"
    assert format_of(book["clearances"], "limit") == "@"
    assert format_of(book["readings"], "run_hours") == "General"


def test_set_words_units_and_yes_no_are_offered(book):
    (state,) = rules_of(book["readings"], "state")
    assert state.formula1 == '"as-found,as-left,check,not stated"'
    (unit,) = rules_of(book["readings"], "unit")
    assert unit.formula1 == '"mm,um,mil,in"'
    (limiting,) = rules_of(book["clearances"], "limiting")
    assert limiting.formula1 == '"yes,no"'


def test_machines_and_positions_are_offered_from_the_register_and_others_may_be_written(book):
    (machine,) = rules_of(book["readings"], "machine")
    assert machine.formula1 == "'machines'!$A$5:$A$5000"
    (clearance,) = rules_of(book["names"], "clearance")
    assert clearance.formula1 == "'clearances'!$B$5:$B$5000"
    assert clearance.errorStyle == "warning"
    assert rules_of(book["machines"], "machine") == []


def test_headings_stay_in_sight_on_screen_and_on_paper(book):
    for name in SHEETS:
        assert book[name].freeze_panes.endswith(str(FIRST))
        assert book[name].print_title_rows == f"${HEADINGS}:${HEADINGS}"
        assert book[name].page_setup.orientation == "landscape"


def test_the_sheet_readings_is_in_front(book):
    assert book.sheetnames[:2] == ["(how to)", "readings"]
    assert book.active.title == "readings"
