"""CSV files: encodings, separators, headings, ragged rows, exact row numbers."""

from __future__ import annotations

from pathlib import Path

import pytest
from reading_files import HEADINGS, ROW, Read, Write

from trendwear.readings.dates import DateOrder
from trendwear.readings.decimals import Decimal
from trendwear.readings.headings import Headings
from trendwear.readings.sheet import read_paths


def test_row_numbers_are_those_of_the_file(read: Read) -> None:
    text = (
        "Plant log 2020\n"
        "\n"
        f"{HEADINGS},note\n"
        f"{ROW},\n"
        "\n"
        f'{ROW},"two\nlines"\n'
        "K-101,brg DE,2020-05-01,32000,seen,6.5,mil,\n"
    )
    incoming = read(text)
    assert incoming.sheets["readings"]["row"].tolist() == [4, 6]
    assert incoming.sheets["readings"]["note"].tolist() == [None, "two\nlines"]
    assert incoming.faults[["row", "column", "written"]].values.tolist() == [[8, "state", "seen"]]


def test_every_fault_of_every_row_is_listed(read: Read) -> None:
    incoming = read(f"{HEADINGS}\n,brg DE,03/04/2020,~5,seen,=1+1,furlong\n{ROW}\n,,,,,,\n")
    faults = incoming.faults
    assert faults["row"].tolist() == [2] * 6
    assert faults["column"].tolist() == ["machine", "date", "run_hours", "state", "value", "unit"]
    assert faults["written"].tolist() == [None, "03/04/2020", "~5", "seen", "=1+1", "furlong"]
    assert faults["file"].unique().tolist() == ["readings.csv"]
    assert faults["sheet"].unique().tolist() == ["readings"]
    assert faults["instead"].notna().all()
    assert len(incoming.sheets["readings"]) == 1


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252", "latin-1"])
def test_encodings(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "readings.csv"
    rows = "K-101,brg DE,2020-05-01,,as-found,6½ ± ½ µm,,Prüfer\n"
    path.write_text(f"{HEADINGS},by\n{rows}", encoding=encoding)
    incoming = read_paths([path])
    row = incoming.sheets["readings"].iloc[0]
    assert (row["value"], row["value_half_width"], row["value_unit"]) == (6.5, 0.5, "um")
    assert row["by"] == "Prüfer"
    noted = any("Windows-1252" in note for note in incoming.notes)
    assert noted is not encoding.startswith("utf")


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_separators_and_line_ends(tmp_path: Path, separator: str, end: str) -> None:
    path = tmp_path / "readings.csv"
    text = end.join([HEADINGS, ROW, ROW.replace("6.5", "")]).replace(",", separator)
    path.write_bytes(text.encode())
    incoming = read_paths([path])
    assert incoming.sheets["readings"][["value", "row"]].values.tolist() == [[6.5, 2]]
    assert incoming.faults[["row", "column"]].values.tolist() == [[3, "value"]]


def test_a_separator_stated_in_the_first_line(read: Read) -> None:
    incoming = read("sep=;\n" + f"{HEADINGS}\n{ROW}\n".replace(",", ";"))
    assert incoming.sheets["readings"]["row"].tolist() == [3]


def semicolons(*values: str) -> str:
    rows = "\n".join(f"K;brg {n};2020;5;check;{value};mm" for n, value in enumerate(values))
    return HEADINGS.replace(",", ";") + "\n" + rows


def test_a_file_shows_its_decimal_commas(read: Read) -> None:
    incoming = read(semicolons("0,16", "1,250", "1.250"))
    assert incoming.sheets["readings"]["value"].tolist() == [0.16, 1.25]
    assert incoming.sheets["readings"]["value_step"].tolist() == [0.01, 0.001]
    assert incoming.faults["written"].tolist() == ["1.250"]


def test_a_file_that_does_not_show_its_decimal_mark(read: Read) -> None:
    incoming = read(semicolons("1,250", "1.250", "7"))
    assert incoming.faults["written"].tolist() == ["1,250", "1.250"]
    stated = read(semicolons("1,250", "1.250", "7"), Headings(decimal=Decimal.COMMA_STATED))
    assert stated.faults["written"].tolist() == ["1.250"]


@pytest.mark.parametrize("name", ["readings.csv", "pump1.csv"])
@pytest.mark.parametrize("heading", ["value", "Value [mm]"])
def test_a_heading_that_stands_twice_is_named(write: Write, name: str, heading: str) -> None:
    path = write(name, f"{HEADINGS},{heading}\n{ROW},7\n")
    for given in (path, path.parent):
        faults = read_paths([given]).faults
        assert faults["file"].tolist() == [name]
        assert "several columns are headed as value" in faults["reason"][0]
        assert heading in faults["reason"][0]


def test_a_heading_close_to_one_of_ours_is_told_of_it(read: Read) -> None:
    headings = HEADINGS.replace("run_hours", "Run Hrs")
    incoming = read(f"{headings},colour,Values\n{ROW},red,7\n")
    noted = [note for note in incoming.notes if "not read" in note]
    assert noted == [
        "readings.csv, readings: columns not read: "
        "Run Hrs (did you mean run_hours? map it in a headings file), colour, Values"
    ]


def test_a_lacking_column_is_told_of_the_heading_close_to_it(read: Read) -> None:
    incoming = read(f"{HEADINGS.replace('clearance', 'Clearence')}\n{ROW}\n")
    assert "Clearence (did you mean clearance?" in incoming.faults["reason"][0]


@pytest.mark.parametrize("separator", [",", ";"])
def test_hours_that_may_be_thousands_wait_for_the_decimal_mark(read: Read, separator: str) -> None:
    rows = [ROW.replace("32000", hours) for hours in ("1.000", "11.000", "32000.5", "11.0")]
    text = "\n".join([HEADINGS, *rows]).replace(",", separator)
    unstated = read(text)
    assert unstated.faults["written"].tolist() == ["1.000", "11.000"]
    assert unstated.faults["column"].tolist() == ["run_hours"] * 2
    assert "two ways" in unstated.faults["reason"][1]
    assert "write 11000 or 11, or state" in unstated.faults["instead"][1]
    assert unstated.sheets["readings"]["run_hours"].tolist() == [32000.5, 11.0]
    point = read(text, Headings(decimal=Decimal.POINT))
    assert point.faults.empty
    assert point.sheets["readings"]["run_hours"].tolist() == [1.0, 11.0, 32000.5, 11.0]
    comma = read(text, Headings(decimal=Decimal.COMMA_STATED))
    assert comma.faults.empty
    assert comma.sheets["readings"]["run_hours"].tolist() == [1000.0, 11000.0, 32000.5, 11.0]


def test_a_file_that_shows_decimal_points(read: Read) -> None:
    incoming = read(semicolons("6.5", "1.250", "1,250"))
    assert incoming.sheets["readings"]["value"].tolist() == [6.5, 1.25]
    assert incoming.faults["written"].tolist() == ["1,250"]


def test_a_file_that_shows_both_marks(read: Read) -> None:
    incoming = read(semicolons("6.5", "6,5", "1.250"))
    assert incoming.sheets["readings"]["value"].tolist() == [6.5]
    assert incoming.faults["written"].tolist() == ["6,5", "1.250"]


def test_in_a_comma_file_a_quoted_comma_is_no_decimal_mark(read: Read) -> None:
    incoming = read(f"{HEADINGS}\n{ROW.replace('6.5', chr(34) + '6,5' + chr(34))}")
    assert incoming.faults["written"].tolist() == ["6,5"]


def test_ragged_rows(read: Read) -> None:
    incoming = read(f"{HEADINGS}\n{ROW}\nK-101,brg DE\n{ROW},extra\n{ROW},,\n")
    assert incoming.sheets["readings"]["row"].tolist() == [2, 5]
    assert incoming.faults["row"].tolist() == [3, 4]
    assert incoming.faults["column"].isna().all()
    assert incoming.faults["written"].tolist() == ["K-101,brg DE", f"{ROW},extra"]
    assert "2 cells, the headings 7" in incoming.faults["reason"][0]


def test_a_quotation_mark_left_open_swallows_no_row_unseen(read: Read) -> None:
    incoming = read(f'{HEADINGS},note\n{ROW},"\n{ROW},a\n{ROW},"\n{ROW},b\n')
    assert incoming.sheets["readings"]["row"].tolist() == [5]
    assert incoming.faults["row"].tolist() == [2]
    assert "quotation mark" in incoming.faults["reason"][0]


def test_an_inch_sign_in_a_cell(read: Read) -> None:
    rows = [ROW.replace("6.5,mil", value + ",") for value in ('.0065"', '"1/16"""')]
    incoming = read("\n".join([HEADINGS, *rows]))
    assert incoming.sheets["readings"]["value_unit"].tolist() == ["in", "in"]
    assert incoming.sheets["readings"]["value_written"].tolist() == ['.0065"', '1/16"']


def test_headings_in_any_order_spelling_and_row(read: Read) -> None:
    text = "Log,,,,\nfor,2020,,,\nValue, STATE,Run Hours,Clearance,machine\n6.5,check,5,brg,K\n"
    row = read(text).sheets["readings"].iloc[0]
    assert (row["value"], row["state"], row["run_hours"]) == (6.5, "check", 5.0)


def test_unknown_columns_are_named_once(read: Read) -> None:
    incoming = read(f"{HEADINGS},colour,value [furlong]\n{ROW},red,1\n{ROW},blue,2\n")
    named = [note for note in incoming.notes if "colour" in note]
    assert named == ["readings.csv, readings: columns not read: colour, value [furlong]"]


def test_columns_without_a_heading_are_named(read: Read) -> None:
    incoming = read(f"{HEADINGS},,note\n{ROW},x,y\n")
    assert incoming.sheets["readings"]["note"].tolist() == ["y"]
    assert any("without a heading" in note for note in incoming.notes)
    assert not any("without a heading" in note for note in read(f"{HEADINGS},\n{ROW},\n").notes)


def test_a_missing_column_is_one_fault(read: Read) -> None:
    incoming = read("machine,clearance,date,value,tag\nK,brg,2020,6,1\nK,brg,2020,7,1\n")
    assert len(incoming.faults) == 1
    assert "no column state" in incoming.faults["reason"][0]
    assert "tag" in incoming.faults["reason"][0]
    assert incoming.faults["row"][0] == 0


def test_a_date_or_the_hours_must_be_there(read: Read) -> None:
    lacking = read("machine,clearance,state,value\nK,brg,check,6\n")
    assert "no column date" in lacking.faults["reason"][0]
    text = (
        "machine,clearance,date,run_hours,state,value\n"
        "K,brg,,5,check,6\nK,brg,2020,,check,6\nK,brg,,,check,6\n"
    )
    incoming = read(text)
    assert incoming.sheets["readings"]["row"].tolist() == [2, 3]
    assert incoming.faults[["row", "column"]].values.tolist() == [[4, "date"]]


def test_the_same_heading_twice_is_refused(read: Read) -> None:
    incoming = read(f"{HEADINGS},Value\n{ROW},7\n")
    assert "several columns are headed as value" in incoming.faults["reason"][0]
    assert incoming.sheets["readings"].empty


def test_a_unit_in_the_heading(read: Read) -> None:
    text = "machine,clearance,date,state,value [mm],uncertainty\nK,a,2020,check,0.16,0.01\n"
    text += "K,b,2020,check,6 mil,\n"
    rows = read(text).sheets["readings"]
    assert rows["value_unit"].tolist() == ["mm", "mil"]
    assert rows["unit"].tolist() == ["mm", "mm"]


def test_a_unit_in_the_heading_and_another_in_the_row(read: Read) -> None:
    incoming = read(f"{HEADINGS.replace('value', 'value (mm)')}\n{ROW}\n{ROW[:-3]}mm\n{ROW[:-3]}\n")
    assert incoming.sheets["readings"]["row"].tolist() == [3, 4]
    assert incoming.sheets["readings"]["unit"].tolist() == ["mm", "mm"]
    assert incoming.faults[["row", "column"]].values.tolist() == [[2, "unit"]]


def test_a_site_with_its_own_headings(write: Write) -> None:
    headings = Headings(
        sheets={"bearing log": "readings"},
        columns={"readings": {"unit tag": "machine", "pos.": "clearance", "gap": "value"}},
        fixed={"readings": {"state": "as-found", "unit": "mil", "machine": "none"}},
        order=DateOrder.DAY_FIRST,
    )
    path = write("Bearing log.csv", "Unit tag,Pos.,Date,Gap\nK-101,brg DE,03/04/2020,6.5\n")
    incoming = read_paths([path], headings)
    row = incoming.sheets["readings"].iloc[0]
    assert (row["machine"], row["clearance"], row["state"]) == ("K-101", "brg DE", "as-found")
    assert (row["unit"], row["value"]) == ("mil", 6.5)
    assert row["date"].isoformat() == "2020-04-03T00:00:00"
    assert incoming.faults.empty
    assert any("fixed value is not used" in note for note in incoming.notes)


def test_a_wrong_fixed_value_is_a_fault_of_each_row(read: Read) -> None:
    headings = Headings(fixed={"readings": {"basis": "across"}})
    incoming = read(f"{HEADINGS}\n{ROW}\n{ROW}\n", headings)
    assert incoming.faults[["row", "column", "written"]].values.tolist() == [
        [2, "basis", "across"],
        [3, "basis", "across"],
    ]


def test_a_sheet_known_by_its_headings(write: Write) -> None:
    incoming = read_paths([write("bearing log.csv", f"{HEADINGS}\n{ROW}\n")])
    assert len(incoming.sheets["readings"]) == 1
    assert any("by its headings" in note for note in incoming.notes)
    hours = read_paths([write("hours.csv", "machine,date,run_hours\nK,2020-01-01,5\n")])
    assert len(hours.sheets["run_log"]) == 1
    neither = read_paths([write("x.csv", "a,b\n1,2\n")])
    assert "neither its name nor its headings" in neither.faults["reason"][0]


def test_headings_alone_are_noted(read: Read) -> None:
    incoming = read(HEADINGS + "\n")
    assert incoming.faults.empty
    assert incoming.notes == ("readings.csv, readings: there are headings and no rows",)
    assert [file.name for file in incoming.files] == ["readings.csv"]


def test_a_last_letter_that_is_no_utf_8(tmp_path: Path) -> None:
    path = tmp_path / "readings.csv"
    path.write_bytes(f"{HEADINGS},by\n{ROW},Ren".encode() + b"\xe9")
    incoming = read_paths([path])
    assert incoming.sheets["readings"]["by"].tolist() == ["René"]
    assert any("Windows-1252" in note for note in incoming.notes)
