"""Workbooks with all openings of a machine on one sheet; what must come of them, set by hand."""

from __future__ import annotations

from typing import Final

from layouts.laid_workbooks import Case, Cell, Page

__all__ = ["HISTORIES"]

_PAIRS = """
[layout.pairs]
tabs = "*"
machine = "B1"
date = "row 2"
run_hours = "row 3"
state = "row 4"
positions = "A5 down"
values = "B:E"
always = { unit = "mil" }
"""
_PAIR_ROWS = (
    "B5 T-101|Ring 1|2015-03-01|8000|as-found|6|mil",
    "C5 T-101|Ring 1|2015-03-01|8000|as-left|4|mil",
    "D5 T-101|Ring 1|2019-05-04|32000|as-found|7|mil",
    "E5 T-101|Ring 1|2019-05-04|32000|as-left|4|mil",
    "B6 T-101|Ring 2|2015-03-01|8000|as-found|6.5|mil",
    "D6 T-101|Ring 2|2019-05-04|32000|as-found|8|mil",
)


def _pairs(*, merged_texts: bool) -> list[list[object]]:
    second = None if merged_texts else "2015-03-01"
    fourth = None if merged_texts else "2019-05-04"
    return [
        ["Machine", "T-101"],
        ["Date", "2015-03-01", second, "2019-05-04", fourth],
        ["Hours", 8000, 8000, 32000, 32000],
        ["Position", "As found", "As left", "As found", "As left"],
        ["Ring 1", 6, 4, 7, 4],
        ["Ring 2", 6.5, None, 8, None],
    ]


HISTORIES: Final = (
    Case(
        "a pair of columns for each opening under merged dates",
        (Page("T-101", _pairs(merged_texts=True), merged=("B2:C2", "D2:E2")),),
        _PAIRS,
        rows=_PAIR_ROWS,
    ),
    Case(
        "the same by another program, dates merged over pairs",
        (Page("T-101", _pairs(merged_texts=True), merged=("B2:C2", "D2:E2")),),
        _PAIRS,
        rows=_PAIR_ROWS,
        by_openpyxl=True,
    ),
    Case(
        "dates over the first of each pair alone",
        (Page("T-101", _pairs(merged_texts=True)),),
        _PAIRS.replace('"row 2"', '"row 2 carried on"'),
        rows=_PAIR_ROWS,
        asks=("does a blank one repeat the one before it",),
    ),
    Case(
        "such dates that nobody confirmed",
        (Page("T-101", _pairs(merged_texts=True)),),
        _PAIRS.replace('run_hours = "row 3"\n', ""),
        rows=tuple(
            row.replace("|8000|", "||").replace("|32000|", "||")
            for row in _PAIR_ROWS
            if row[0] in "BD"
        ),
        refused=(("C2", "blank"), ("E2", "blank")),
    ),
    Case(
        "the newest opening first and as left before as found",
        (
            Page(
                "T-101",
                [
                    ["T-101 clearances, all in mils"],
                    [None, "2019-05-04", "2019-05-04", "2015-03-01", "2015-03-01", "Where"],
                    [None, "Left", "Found", "Left", "Found"],
                    [None, 4, 7, 4, 6, "Ring 1"],
                ],
            ),
        ),
        """
[layout.newest]
tabs = "*"
tab_name = "{machine}"
texts = ["*all in {unit}"]
date = "row 2"
state = "row 3"
positions = "F4 down"
values = "B:E"
""",
        rows=(
            "B4 T-101|Ring 1|2019-05-04||as-left|4|mil",
            "C4 T-101|Ring 1|2019-05-04||as-found|7|mil",
            "D4 T-101|Ring 1|2015-03-01||as-left|4|mil",
            "E4 T-101|Ring 1|2015-03-01||as-found|6|mil",
        ),
    ),
    Case(
        "an opening that stands there twice",
        (
            Page(
                "T-101",
                [
                    ["Machine", "T-101"],
                    ["Position", "2019-05-04", "2019-05-04"],
                    [None, "As found", "As found"],
                    ["Ring 1", "6 mil", "7 mil"],
                ],
            ),
        ),
        """
[layout.twice]
machine = "B1"
date = "row 2"
state = "row 3"
positions = "A4 down"
values = "B:C"
""",
        rows=(
            "B4 T-101|Ring 1|2019-05-04||as-found|6 mil|mil",
            "C4 T-101|Ring 1|2019-05-04||as-found|7 mil|mil",
        ),
        proposed=True,
    ),
    Case(
        "positions across, an opening in each row",
        (
            Page(
                "T-101",
                [
                    ["Machine: T-101", None, None, "readings in mm"],
                    [],
                    ["Date", "Hours", "State", "Brg DE", "Brg NDE", "Ring 1"],
                    ["2015-03-01", 8000, "as found", 0.16, "0.17", None],
                    ["2015-03-01", 8000, "as left", 0.12, 0.12, "not taken"],
                    [],
                    ["2019-05-04", "~32000 ±500", "as found", 0.15, "0,16 mm", "<0.3"],
                ],
            ),
        ),
        """
[layout.across]
tabs = "*"
texts = ["Machine: {machine}", "readings in {unit}"]
date = "column A"
run_hours = 'column of "Hours"'
state = "column C"
positions = "D3 across"
values = "4:"
""",
        rows=(
            "D4 T-101|Brg DE|2015-03-01|8000|as-found|0.16|mm",
            "E4 T-101|Brg NDE|2015-03-01|8000|as-found|0.17|mm",
            "D5 T-101|Brg DE|2015-03-01|8000|as-left|0.12|mm",
            "E5 T-101|Brg NDE|2015-03-01|8000|as-left|0.12|mm",
            "D7 T-101|Brg DE|2019-05-04|32000|as-found|0.15|mm",
            "E7 T-101|Brg NDE|2019-05-04|32000|as-found|0,16 mm|mm",
            "F7 T-101|Ring 1|2019-05-04|32000|as-found|<0.3|mm",
        ),
        other=("F5 T-101|Ring 1, as-left: not taken",),
        proposed=True,
    ),
    Case(
        "positions across, dates merged over found and left",
        (
            Page(
                "T-101",
                [
                    [None, "When", "Ring 1", "Ring 2", "Mean"],
                    ["2015-03-01", "Found", "6 mil", "7 mil", "6.5 mil"],
                    [None, "Left", "4 mil", "4 mil"],
                    ["03/04/2019", "Found", "8 mil"],
                ],
                merged=("A2:A3",),
            ),
        ),
        """
[layout.across]
tab_name = "{machine}"
date = "column A"
state = "column B"
positions = "C1:E1"
values = "2:4"
skip = ["Mean"]
""",
        rows=(
            "C2 T-101|Ring 1|2015-03-01||as-found|6 mil|mil",
            "D2 T-101|Ring 2|2015-03-01||as-found|7 mil|mil",
            "C3 T-101|Ring 1|2015-03-01||as-left|4 mil|mil",
            "D3 T-101|Ring 2|2015-03-01||as-left|4 mil|mil",
        ),
        refused=(("A4", "day or month"),),
        notes=("E1 'Mean'",),
        proposed=True,
    ),
    Case(
        "vertical and horizontal under merged states",
        (
            Page(
                "T-101",
                [
                    ["Machine", "T-101", None, "Date", "2019-05-04"],
                    ["Bearing", "As found (mil)", None, "As left (mil)", None],
                    [None, "V", "H", "V", "H"],
                    ["Brg DE", 6.5, 7, 5, 5.5],
                ],
                merged=("B2:C2", "D2:E2", "A2:A3"),
            ),
        ),
        """
[layout.angles]
machine = "B1"
date = "E1"
state = "row 2"
angle = "row 3"
positions = 'below "Bearing"'
values = ["As found", "As left"]
""",
        rows=(
            "B4 T-101|Brg DE|2019-05-04||as-found|6.5|mil",
            "C4 T-101|Brg DE|2019-05-04||as-found|7|mil",
            "D4 T-101|Brg DE|2019-05-04||as-left|5|mil",
            "E4 T-101|Brg DE|2019-05-04||as-left|5.5|mil",
        ),
    ),
    Case(
        "positions merged over two planes",
        (
            Page(
                "T-101",
                [
                    ["Machine", "T-101", None, "Date", "2019-05-04"],
                    ["Position", "Plane", "As found", "Comments"],
                    ["Brg DE", "A", "6.5 mil", "cold"],
                    [None, "B", "7 mil"],
                    ["Brg NDE", "A", "8 mil"],
                    [None, "B", "9 mil"],
                ],
                merged=("A3:A4", "A5:A6"),
            ),
        ),
        """
[layout.planes]
machine = "B1"
date = "E1"
positions = "A3:A6"
values = "C:C"
state = "row 2"
plane = "column B"
note = 'column of "Comments"'
""",
        rows=(
            "C3 T-101|Brg DE|2019-05-04||as-found|6.5 mil|mil",
            "C4 T-101|Brg DE|2019-05-04||as-found|7 mil|mil",
            "C5 T-101|Brg NDE|2019-05-04||as-found|8 mil|mil",
            "C6 T-101|Brg NDE|2019-05-04||as-found|9 mil|mil",
        ),
        by_openpyxl=True,
        proposed=True,
    ),
    Case(
        "a position that is blank",
        (
            Page(
                "T-101",
                [
                    ["Machine", "T-101", None, "Date", "2019-05-04"],
                    ["Position", "As found"],
                    ["Ring 1", "6 mil"],
                    [None, "7 mil"],
                ],
            ),
        ),
        """
[layout.a]
machine = "B1"
date = "E1"
positions = "A3 down"
values = "B:B"
state = "row 2"
""",
        rows=("B3 T-101|Ring 1|2019-05-04||as-found|6 mil|mil",),
        refused=(("A4", "may not be blank"),),
        proposed=True,
    ),
    Case(
        "an open document with merged dates and shown units",
        (
            Page(
                "T-101",
                [
                    ["Machine", "T-101"],
                    ["Date", "2015-03-01", None, "2019-05-04", None],
                    ["Position", "As found", "As left", "As found", "As left"],
                    ["Ring 1", Cell(6, " mil"), Cell(4, " mil"), Cell(7, " mil"), Cell(0.1, " mm")],
                ],
                merged=("B2:C2", "D2:E2"),
                hidden_rows=(4,),
            ),
        ),
        """
[layout.pairs]
machine = "B1"
date = "row 2"
state = "row 3"
positions = "A4 down"
values = "B:E"
""",
        rows=(
            "B4 T-101|Ring 1|2015-03-01||as-found|6 mil|mil",
            "C4 T-101|Ring 1|2015-03-01||as-left|4 mil|mil",
            "D4 T-101|Ring 1|2019-05-04||as-found|7 mil|mil",
            "E4 T-101|Ring 1|2019-05-04||as-left|0.1 mm|mm",
        ),
        notes=("hidden rows are read too: row 4",),
        proposed=True,
        ending=".ods",
    ),
    Case(
        "a second table below the first",
        (
            Page(
                "T-101",
                [
                    ["Machine", "T-101", None, "Date", "2019-05-04"],
                    ["Position", "As found"],
                    ["Ring 1", "6 mil"],
                    [],
                    ["Parts used", "Quantity"],
                    ["Bolt", 4],
                ],
            ),
        ),
        """
[layout.a]
machine = "B1"
date = "E1"
positions = "A3 down"
values = "B:B"
state = "row 2"
until = "Parts used*"
""",
        rows=("B3 T-101|Ring 1|2019-05-04||as-found|6 mil|mil",),
        notes=("A5 'Parts used'",),
        asks=("A5 'Parts used'",),
    ),
)
