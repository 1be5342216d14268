"""Workbooks with a sheet, or a block, for each opening; what must come of them, set by hand."""

from __future__ import annotations

from datetime import datetime
from typing import Final

from layouts.laid_workbooks import Case, Cell, Page

__all__ = ["OPENINGS"]

_HEAD = ["Position", "As found", "As left", "Remarks"]
_LABELS = """
[layout.opening]
tabs = "*"
machine = 'right of "Machine"'
date = 'right of "Date opened"'
run_hours = 'right of "Hour meter"'
positions = 'below "Position"'
values = ["As found", "As left"]
state = 'row of "As found"'
note = 'column of "Remarks"'
"""


def _opening(*rows: list[object]) -> list[list[object]]:
    return [
        ["Clearance record"],
        ["Machine", "T-101", None, "Date opened:", "2019-05-04"],
        ["Hour meter", 32000],
        [],
        _HEAD,
        *rows,
    ]


OPENINGS: Final = (
    Case(
        "labels beside title cells",
        (
            Page(
                "May 2019",
                _opening(
                    ["Brg DE", "6.5 mil", "5 mil", "new shell"], ["Brg NDE", '1/16"', '.0655"']
                ),
            ),
        ),
        _LABELS,
        rows=(
            "B6 T-101|Brg DE|2019-05-04|32000|as-found|6.5 mil|mil",
            "C6 T-101|Brg DE|2019-05-04|32000|as-left|5 mil|mil",
            'B7 T-101|Brg NDE|2019-05-04|32000|as-found|1/16"|in',
            'C7 T-101|Brg NDE|2019-05-04|32000|as-left|.0655"|in',
        ),
        proposed=True,
    ),
    Case(
        "three tabs of one look",
        tuple(
            Page(
                name,
                [["all in mils"], ["Location", "AF", "AL"], ["Ring 1", value, 4], ["Ring 2", 7, 5]],
            )
            for name, value in (("T-101 2019", 9), ("T-101 2023", 10), ("T-102 2020", 11))
        ),
        """
[layout.tabs]
tabs = "T-*"
tab_name = "{machine} {date}"
texts = ["all in {unit}"]
positions = "A3 down"
values = "B:C"
state = "row 2"
signs = { A2 = "Location" }
""",
        rows=(
            "B3 T-101|Ring 1|2019||as-found|9|mil",
            "C3 T-101|Ring 1|2019||as-left|4|mil",
            "B4 T-101|Ring 2|2019||as-found|7|mil",
            "C4 T-101|Ring 2|2019||as-left|5|mil",
            "B3 T-101|Ring 1|2023||as-found|10|mil",
            "C3 T-101|Ring 1|2023||as-left|4|mil",
            "B4 T-101|Ring 2|2023||as-found|7|mil",
            "C4 T-101|Ring 2|2023||as-left|5|mil",
            "B3 T-102|Ring 1|2020||as-found|11|mil",
            "C3 T-102|Ring 1|2020||as-left|4|mil",
            "B4 T-102|Ring 2|2020||as-found|7|mil",
            "C4 T-102|Ring 2|2020||as-left|5|mil",
        ),
        proposed=True,
    ),
    Case(
        "repeated headings, blanks, a mean and a footnote",
        (
            Page(
                "P1",
                _opening(
                    ["Brg DE", 6.5, 5],
                    [],
                    _HEAD,
                    ["Brg NDE", 7, None],
                    ["Mean", 6.75, 5],
                    [],
                    ["* taken cold"],
                ),
            ),
        ),
        _LABELS.replace('below "Position"', "A6 down")
        .replace('row of "As found"', "row 5")
        .replace('column of "Remarks"', "column D")
        + 'skip = ["Mean"]\nalways = { unit = "mil" }\n',
        rows=(
            "B6 T-101|Brg DE|2019-05-04|32000|as-found|6.5|mil",
            "C6 T-101|Brg DE|2019-05-04|32000|as-left|5|mil",
            "B9 T-101|Brg NDE|2019-05-04|32000|as-found|7|mil",
        ),
        notes=("headings repeated in row 8", "A10 'Mean'", "A12 '* taken cold'"),
    ),
    Case(
        "blocks that name their machine in a title",
        (
            Page(
                "log",
                [
                    ["Bearing clearances, mil"],
                    ["Machine: T-101"],
                    ["Opened 2019-05-04 at 32000 h"],
                    ["Position", "As found (mils)", "As left (mils)"],
                    ["Brg DE", 6.5, 5],
                    ["Brg NDE", 7, 5],
                    [],
                    ["Machine: T-102"],
                    ["Opened 2020-06-01 at 41000 h"],
                    ["Position", "As found (mils)", "As left (mils)"],
                    ["Brg DE", 8, 5],
                ],
            ),
        ),
        """
[layout.blocks]
tabs = "log"
blocks = "Machine:*"
texts = ["Machine: {machine}", "Opened {date} at {run_hours} h"]
positions = 'below "Position"'
values = ["As found", "As left"]
state = "row 3"
""",
        rows=(
            "B5 T-101|Brg DE|2019-05-04|32000|as-found|6.5|mil",
            "C5 T-101|Brg DE|2019-05-04|32000|as-left|5|mil",
            "B6 T-101|Brg NDE|2019-05-04|32000|as-found|7|mil",
            "C6 T-101|Brg NDE|2019-05-04|32000|as-left|5|mil",
            "B11 T-102|Brg DE|2020-06-01|41000|as-found|8|mil",
            "C11 T-102|Brg DE|2020-06-01|41000|as-left|5|mil",
        ),
        notes=("A1 'Bearing clearances, mil'",),
        proposed=True,
    ),
    Case(
        "blocks with the machine beside its label",
        (
            Page(
                "log",
                [
                    ["Tag", "T-101", None, "Date", "2019-05-04"],
                    ["Item", "Found, mm", "Left, mm"],
                    ["Ring 1", 0.3, 0.2],
                    [],
                    ["Tag", "T-103", None, "Date", "2021-02-03"],
                    ["Item", "Found, mm", "Left, mm"],
                    ["Ring 1", "0.31", "n/a"],
                ],
            ),
        ),
        """
[layout.blocks]
tabs = "log"
blocks = "Tag"
machine = "B1"
date = 'right of "Date"'
positions = "A3 down"
values = "B:C"
state = "row 2"
""",
        rows=(
            "B3 T-101|Ring 1|2019-05-04||as-found|0.3|mm",
            "C3 T-101|Ring 1|2019-05-04||as-left|0.2|mm",
            "B7 T-103|Ring 1|2021-02-03||as-found|0.31|mm",
        ),
        other=("C7 T-103|Ring 1, as-left: n/a",),
        proposed=True,
    ),
    Case(
        "two units",
        (
            Page(
                "A",
                [
                    ["All dimensions in mm", None, None, "Machine", "T-101"],
                    ["Date", "2019-05-04"],
                    ["Position", "As found (mils)", "As left"],
                    ["Ring 1", 6, 0.2],
                ],
            ),
        ),
        """
[layout.a]
machine = "E1"
date = "B2"
texts = ["All dimensions in {unit}"]
positions = "A4 down"
values = "B:C"
state = "row 3"
""",
        rows=("C4 T-101|Ring 1|2019-05-04||as-left|0.2|mm",),
        refused=(("B4", "'mil' in B3 and 'mm' in A1"),),
        proposed=True,
    ),
    Case(
        "units that number formats show",
        (
            Page(
                "A",
                _opening(
                    ["Brg DE", Cell(6.5, '0.0" mil"'), Cell(0.25, '0.000"in"')],
                    ["Brg NDE", Cell(0.16, '0.00\\ "mm"'), Cell(0.07, "0.0%")],
                    ["Ring", Cell(6500, "0.0,"), Cell(7, '[<1]0.00" in";0.0" mil"')],
                ),
            ),
        ),
        _LABELS,
        rows=(
            "B6 T-101|Brg DE|2019-05-04|32000|as-found|6.5 mil|mil",
            "C6 T-101|Brg DE|2019-05-04|32000|as-left|0.25 in|in",
            "B7 T-101|Brg NDE|2019-05-04|32000|as-found|0.16 mm|mm",
        ),
        refused=(("C7", "percentage"), ("B8", "one way only"), ("C8", "one way only")),
        proposed=True,
    ),
    Case(
        "a format that shows another unit than its column",
        (
            Page(
                "A",
                [
                    ["Machine", "T-101", None, "Date", "2019-05-04"],
                    ["Position", "Units", "As found"],
                    ["Brg DE", "mil", Cell(6.5, '0.0" mil"')],
                    ["Brg NDE", "mil", Cell(0.16, '0.00" mm"')],
                ],
            ),
        ),
        """
[layout.a]
machine = 'right of "Machine"'
date = 'right of "Date"'
positions = "A3 down"
values = "C:C"
unit = 'column of "Units"'
state = "row 2"
""",
        rows=("C3 T-101|Brg DE|2019-05-04||as-found|6.5 mil|mil",),
        refused=(("C4", "format shows mm, and the sheet says mil"),),
        proposed=True,
    ),
    Case(
        "formulas without a result, a spoilt fraction, an error",
        (
            Page(
                "A",
                _opening(
                    ["Brg DE", "=B9-B8", datetime(2026, 1, 16)],
                    ["Brg NDE", "#REF!", '6½"'],
                ),
            ),
        ),
        _LABELS,
        rows=('C7 T-101|Brg NDE|2019-05-04|32000|as-left|6½"|in',),
        refused=(("B6", "formula"), ("C6", "1/16 or 3-4"), ("B7", "error")),
    ),
    Case(
        "hours typed as text",
        (
            Page(
                "A",
                [
                    ["Machine", "T-101", None, "Date opened", "2019-05-04"],
                    ["Hour meter", "11.000"],
                    _HEAD,
                    ["Brg DE", "6 mil", "5 mil"],
                    ["Brg NDE", "6 mil"],
                ],
            ),
        ),
        _LABELS,
        refused=(("B2", "text in the cell"),),
        proposed=True,
    ),
    Case(
        "hidden rows and columns and doubtful comments",
        (
            Page(
                "seen",
                _opening(
                    ["Brg DE", "6 mil", "5 mil"],
                    ["Brg NDE", Cell("7 mil", comment="estimated, no access"), "5 mil"],
                ),
                hidden_rows=(6,),
                hidden_columns=("C",),
            ),
            Page("unseen", _opening(["Ring", "8 mil"]), hidden=True),
        ),
        _LABELS,
        rows=(
            "B6 T-101|Brg DE|2019-05-04|32000|as-found|6 mil|mil",
            "C6 T-101|Brg DE|2019-05-04|32000|as-left|5 mil|mil",
            "B7 T-101|Brg NDE|2019-05-04|32000|as-found|7 mil|mil",
            "C7 T-101|Brg NDE|2019-05-04|32000|as-left|5 mil|mil",
            "B6 T-101|Ring|2019-05-04|32000|as-found|8 mil|mil",
        ),
        notes=(
            "seen: hidden rows are read too: row 6",
            "seen: hidden columns are read too: column C",
            "B7 'estimated, no access'",
            "unseen: the sheet is hidden",
        ),
        proposed=True,
    ),
    Case(
        "words and notes in number columns",
        (
            Page(
                "A",
                _opening(
                    ["Brg DE", "renewed", "in 0.006, no-go 0.007 in"],
                    ["Brg NDE", "see note 3", "10-15 thou"],
                    ["Ring", "not taken", "6.5*"],
                ),
            ),
        ),
        _LABELS,
        rows=(
            "C6 T-101|Brg DE|2019-05-04|32000|as-left|in 0.006, no-go 0.007 in|in",
            "C7 T-101|Brg NDE|2019-05-04|32000|as-left|10-15 thou|mil",
        ),
        refused=(("B7", "no length"), ("C8", "no length")),
        other=("B6 T-101|Brg DE: renewed", "B8 T-101|Ring, as-found: not taken"),
        notes=("words in place of readings: B6 'renewed', B8 'not taken'",),
    ),
    Case(
        "two dates on the sheet",
        (
            Page(
                "A",
                [
                    ["Machine", "T-101"],
                    ["Date opened", "2019-05-04", None, "Inspection date", "2019-05-11"],
                    ["Position", "As found"],
                    ["Ring 1", "6 mil"],
                ],
            ),
        ),
        """
[layout.a]
machine = "B1"
date = 'right of "Date opened"'
positions = "A4 down"
values = "B:B"
state = "row 3"
""",
        rows=("B4 T-101|Ring 1|2019-05-04||as-found|6 mil|mil",),
        asks=("Which is the date: B2 '2019-05-04' or E2 '2019-05-11'",),
    ),
    Case(
        "before and after",
        (
            Page(
                "A",
                [
                    ["Machine", "T-101", None, "Date", "2019-05-04"],
                    ["Position", "Before", "After"],
                    ["Ring 1", "6 mil", "5 mil"],
                ],
            ),
        ),
        """
[layout.a]
machine = "B1"
date = "E1"
positions = "A3 down"
values = "B:C"
state = "row 2"
words = { "Before" = "as-found", "After" = "as-left" }
""",
        rows=(
            "B3 T-101|Ring 1|2019-05-04||as-found|6 mil|mil",
            "C3 T-101|Ring 1|2019-05-04||as-left|5 mil|mil",
        ),
        asks=("Does 'Before' in B2 mean as-found", "Does 'After' in C2 mean as-left"),
    ),
    Case(
        "a blank where the machine should stand",
        (
            Page(
                "A",
                [
                    ["Machine", "Date opened", "2019-05-04"],
                    ["Hour meter", 32000],
                    _HEAD,
                    ["Brg DE", "6 mil", "5 mil"],
                ],
            ),
        ),
        _LABELS,
        refused=(("B1", "holds another label"),),
    ),
    Case(
        "a cell merged over found and left",
        (
            Page(
                "A",
                _opening(["Brg DE", "6 mil", None], ["Ring", "7 mil", "5 mil", "10 mil spare"]),
                merged=("B6:C6",),
            ),
        ),
        _LABELS,
        rows=(
            "B7 T-101|Ring|2019-05-04|32000|as-found|7 mil|mil",
            "C7 T-101|Ring|2019-05-04|32000|as-left|5 mil|mil",
        ),
        refused=(("B6", "merged over several readings"),),
        proposed=True,
    ),
    Case(
        "in and out for found and left, in inches",
        (
            Page(
                "A",
                [
                    ["Machine: T-101", None, "Date: 2019-05-04"],
                    ["Position", "In", "Out", "Units", "Limit"],
                    ["Ring 1", 0.006, 0.004, "in", 0.012],
                ],
            ),
        ),
        """
[layout.a]
texts = ["Machine: {machine}", "Date: {date}"]
positions = "A3 down"
values = "B:C"
state = "row 2"
unit = "column D"
words = { "In" = "as-found", "Out" = "as-left" }
""",
        rows=(
            "B3 T-101|Ring 1|2019-05-04||as-found|0.006|in",
            "C3 T-101|Ring 1|2019-05-04||as-left|0.004|in",
        ),
        notes=("numbers not read: E3 '0.012'", "cells not read: E2 'Limit'"),
        asks=("Does 'In' in B2 mean as-found",),
    ),
    Case(
        "another look than the layout knows",
        (
            Page("T-1", [["Position", "As found"], ["Ring 1", "6 mil"]]),
            Page("T-2", [["No.", "Position", "As found"], [1, "Ring 1", "6 mil"]]),
        ),
        """
[layout.a]
tabs = "T-*"
positions = "A2 down"
values = "B:B"
state = "row 1"
signs = { A1 = "Position" }
always = { machine = "T-101", date = "2019" }
""",
        rows=("B2 T-101|Ring 1|2019||as-found|6 mil|mil",),
        refused=(("A1", "should say 'Position'"),),
    ),
)
