"""Layouts in a headings file: written, read back, and wrong ones named."""

from __future__ import annotations

from pathlib import Path

import pytest

from trendwear.errors import HeadingsProblem
from trendwear.readings.headings import Headings, read_headings
from trendwear.readings.layouts.layout import Lines, SheetLayout, pattern_of
from trendwear.readings.layouts.wheres import Kind, Where, read_where
from trendwear.readings.layouts.written import written_layout

FULL = """
[layout.opening-sheet]
tabs = ["T-*", "P-1"]
tab_name = "{machine} {date}"
texts = ["Hours: {run_hours}", "all in {unit}"]
by = 'right of "Fitter"'
method = "B2"
state = "row 5"
note = "column E"
plane = 'column of "Plane" carried on'
positions = "A6:A40 carried on"
values = "C:D"
always = { surface = "dry" }
words = { "Vorher:" = "as-found" }
signs = { A5 = "Position" }
skip = ["Mean*"]
until = "Parts*"
blocks = "Unit:*"
"""


def read(tmp_path: Path, text: str) -> Headings:
    path = tmp_path / "site.toml"
    path.write_text(text, encoding="utf-8")
    return read_headings(path)


def test_a_full_layout(tmp_path: Path) -> None:
    [layout] = read(tmp_path, FULL).layouts
    assert layout == SheetLayout(
        name="opening-sheet",
        tabs=("T-*", "P-1"),
        positions=Where(Kind.CELL, None, 6, 0, carried=True),
        values=Lines(2, 3),
        last_position=40,
        given={
            "by": Where(Kind.RIGHT, "Fitter"),
            "method": Where(Kind.CELL, None, 2, 1),
            "state": Where(Kind.ROW, row=5),
            "note": Where(Kind.COLUMN, column=4),
            "plane": Where(Kind.COLUMN, "Plane", carried=True),
        },
        always={"surface": "dry"},
        tab_name="{machine} {date}",
        texts=("Hours: {run_hours}", "all in {unit}"),
        words={"vorher": "as-found"},
        skip=("Mean*",),
        until="Parts*",
        blocks="Unit:*",
        signs={"A5": "Position"},
    )


@pytest.mark.parametrize(
    "text",
    [
        FULL,
        '[layout.a]\npositions = "D4:K4"\nvalues = "6:"\n',
        '[layout.a]\npositions = "D4 across carried on"\nvalues = "6:20"\n',
        '[layout."a b"]\npositions = \'below "Position"\'\nvalues = ["As found"]\n',
        '[layout.a]\npositions = "A6:A"\nvalues = "C:"\nwords = { "x y" = "as-left" }\n',
    ],
)
def test_what_is_written_reads_back_the_same(tmp_path: Path, text: str) -> None:
    [layout] = read(tmp_path, text).layouts
    assert read(tmp_path, written_layout(layout)).layouts == (layout,)


@pytest.mark.parametrize(
    ("line", "word"),
    [
        ('machines = "B2"', "'machines' is no part of a layout"),
        ('date = "somewhere"', "date = 'somewhere' is no place"),
        ("date = 3", "date is no text"),
        ('values = "6:20"', "does not say where the readings stand"),
        ('positions = "A6:D9"', "neither one column nor one row"),
        ('positions = "row 3"', "no range of cells"),
        ('texts = ["Hours"]', "does not say once each"),
        ('texts = ["{hours}"]', "does not say once each"),
        ('tab_name = "{machine}{date}"', "nothing parts two holes"),
        ('always = { size = "1" }', "'size' is no column of readings"),
        ("always = 3", "always is no table of texts"),
        ('signs = { 5A = "x" }', "'5A' under signs is no cell"),
        ("skip = [3]", "skip is no text or list of texts"),
    ],
)
def test_a_wrong_layout_says_where(tmp_path: Path, line: str, word: str) -> None:
    key = line.partition(" =")[0]
    right = {"positions": 'positions = "A6 down"', "values": 'values = "C:D"'}
    lines = [text for name, text in right.items() if name != key]
    with pytest.raises(HeadingsProblem) as caught:
        read(tmp_path, "\n".join(["[layout.a]", *lines, line]))
    assert word in caught.value.found
    assert "[layout.a]" in caught.value.found


def test_a_layout_without_its_table(tmp_path: Path) -> None:
    with pytest.raises(HeadingsProblem, match="where the positions stand"):
        read(tmp_path, '[layout.a]\nvalues = "C:D"')
    with pytest.raises(HeadingsProblem, match="where the readings stand"):
        read(tmp_path, '[layout.a]\npositions = "A6 down"')
    with pytest.raises(HeadingsProblem, match="is no table"):
        read(tmp_path, "[layout]\na = 1")


def test_a_tab_that_is_called_as_our_sheet_is_that_sheet(tmp_path: Path) -> None:
    text = '[layout.a]\ntabs = "{}"\npositions = "A6 down"\nvalues = "C:D"'
    anything, named = read(tmp_path, text.format("*")), read(tmp_path, text.format("reading*"))
    assert anything.layouts_of("clearances") == ()
    assert len(anything.layouts_of("T-101")) == 1
    assert len(named.layouts_of("Readings 2019")) == 1


def test_holes_take_no_more_than_they_should() -> None:
    found = pattern_of("{machine} {date}").fullmatch("Pump 2 2019")
    assert found is not None
    assert found.groupdict() == {"machine": "Pump 2", "date": "2019"}
    hours = pattern_of("at {run_hours} h*").fullmatch("at ~32000 ±500 h, cold")
    assert hours is not None
    assert hours["run_hours"] == "~32000 ±500"
    unit = pattern_of("*in {unit}").fullmatch("All readings in mils")
    assert unit is not None
    assert unit["unit"] == "mils"
    assert pattern_of("Unit: {machine}").fullmatch("Units: T-1") is None


@pytest.mark.parametrize("text", ["B2", 'right of "A b"', "row 3", "column AB carried on"])
def test_a_place_is_written_as_it_is_read(text: str) -> None:
    assert str(read_where(text)) == text
