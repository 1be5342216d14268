"""The form as a workbook to write in: headings, what goes where, an example, lists to choose from.

What explains stands above the headings and on a sheet of its own, where it is not read.
Value columns are text, so that a spreadsheet program makes no dates of ``1/16`` and ``3-4``,
and date columns too, so that ``1998`` stays a year.
"""

from __future__ import annotations

import io
import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import xlsxwriter
from xlsxwriter.utility import xl_col_to_name

from trendwear.lengths import MM_PER_UNIT
from trendwear.readings.columns import Column, Holds, Sheet
from trendwear.readings.form import SHEETS
from trendwear.readings.template_examples import HOW_TO, example_of

__all__ = ["Filled", "book_bytes", "template_bytes"]

ORDER: Final = ("readings", "machines", "clearances", "work", "events", "run_log")
"""The sheets most used come first."""

_TITLE, _SAYS, _EXAMPLE, _HEADINGS, _FIRST = range(5)  # 0-based rows of a sheet
_LAST: Final = 4999
_LINE: Final = 14.0  # points
_MOST_LINES: Final = 6
_NARROW, _WIDE = 13, 24
_WIDE_COLUMNS: Final = (
    *("description", "kind", "note", "why", "what", "family", "as_written", "clearance"),
)
_REFERS: Final = {
    "machine": ("machines", "machine"),
    "spare_of": ("machines", "machine"),
    "to_machine": ("machines", "machine"),
    "clearance": ("clearances", "clearance"),
    "to_clearance": ("clearances", "clearance"),
    "part_no": ("parts", "part_no"),
    "method": ("methods", "method"),
}
"""Columns whose cells name a row of another sheet: that sheet and its column."""
_A4: Final = 9
_COLUMNS_A_PAGE: Final = 13
ASIDE_WIDTHS: Final = {
    "(perhaps)": 30, "(usual)": 20, "(how sure)": 26, "(seen)": 34, "(why)": 64
}  # fmt: skip
_PLAIN: Final = (Holds.NUMBER, Holds.COUNT, Holds.HOURS)


@dataclass(frozen=True)
class Filled:
    """What a sheet is filled with beforehand."""

    rows: Sequence[Mapping[str, str]]
    """Column to text, for each row; asides included."""
    asides: Mapping[str, str]
    """Heading of each aside to what it says."""
    lead: int
    """How many of the sheet's own columns stand before the asides."""
    open_cells: Sequence[frozenset[str]]
    """For each row the columns that a person must decide."""


def template_bytes() -> bytes:
    """Return the blank workbook: every sheet of the form."""
    rest = [name for name in SHEETS if name not in ORDER]
    return book_bytes((*ORDER, *rest), {}, HOW_TO)


def book_bytes(names: Sequence[str], filled: Mapping[str, Filled], how_to: Sequence[str]) -> bytes:
    """Return a workbook with these sheets of the form, filled where there is something.

    Parameters
    ----------
    names
        Sheets of the form, in the order in which they stand.
    filled
        What stands in them already.
    how_to
        Lines of the sheet that explains; the first is its title.
    """
    content = io.BytesIO()
    with xlsxwriter.Workbook(content, {"in_memory": True, "strings_to_numbers": False}) as book:
        looks = _Looks(book)
        _how_to_sheet(book.add_worksheet("(how to)"), looks, how_to)
        for name in names:
            page = _Page(book.add_worksheet(name), SHEETS[name], looks, tuple(names))
            page.write(filled.get(name, Filled((), {}, 0, ())))
        book.worksheets()[1].activate()
    return content.getvalue()


class _Looks:
    """Cell formats."""

    def __init__(self, book: Any) -> None:
        top = {"valign": "top", "text_wrap": True}
        self.title = book.add_format({"bold": True, "font_size": 13})
        self.says = book.add_format({**top, "font_size": 9, "font_color": "#444444"})
        self.example = book.add_format(
            {**top, "italic": True, "font_color": "#666666", "bg_color": "#EFEFEF"}
        )
        head = {"bold": True, "border": 1, "valign": "vcenter", "border_color": "#FFFFFF"}
        self.needed = book.add_format({**head, "bg_color": "#0B4F7A", "font_color": "#FFFFFF"})
        self.optional = book.add_format({**head, "bg_color": "#BFD7E6"})
        self.aside = book.add_format({**head, "bg_color": "#DDDDDD", "italic": True})
        self.text = book.add_format({"num_format": "@", "valign": "top"})
        self.number = book.add_format({"valign": "top"})
        self.said = book.add_format({**top, "font_color": "#444444", "num_format": "@"})
        self.open = book.add_format(
            {"num_format": "@", "valign": "top", "bg_color": "#FFE699", "border": 1}
        )
        self.wrapped = book.add_format(top)


@dataclass(frozen=True)
class _Page:
    """One sheet of the form being written."""

    sheet: Any
    form: Sheet
    looks: _Looks
    names: tuple[str, ...]
    """The sheets of the workbook, for lists that refer to one."""

    def write(self, filled: Filled) -> None:
        """Write the sheet."""
        self.sheet.write_string(_TITLE, 0, self._title(filled), self.looks.title)
        heights, examples = [1], [1]
        places = {heading: place for place, heading in enumerate(_headings(self.form, filled))}
        for column in self.form.columns:
            place = places[column.name]
            says, example = column.meaning, example_of(self.form, column)
            self._head(place, column, (says, example))
            self._choices(place, column)
            heights.append(_lines(says, _width(column)))
            examples.append(_lines(example, _width(column) - 1))
        for heading, says in filled.asides.items():
            place, width = places[heading], ASIDE_WIDTHS[heading]
            self.sheet.set_column(place, place, width, self.looks.said)
            heights.append(_lines(says, width))
            self.sheet.write_string(_SAYS, place, says, self.looks.says)
            self.sheet.write_string(_HEADINGS, place, heading, self.looks.aside)
        self.sheet.set_row(_SAYS, _LINE * min(max(heights), _MOST_LINES))
        self.sheet.set_row(_EXAMPLE, _LINE * max(examples))
        self.sheet.set_row(_HEADINGS, 20)
        self._rows(filled)
        self._set_up(len(self.form.columns) + len(filled.asides), len(filled.rows))

    def _title(self, filled: Filled) -> str:
        marked = ". Yellow cells are for you to decide" if any(filled.open_cells) else ""
        return f"{self.form.name}: {self.form.meaning}{marked}"

    def _head(self, place: int, column: Column, said: tuple[str, str]) -> None:
        look = self.looks.number if column.holds in _PLAIN else self.looks.text
        self.sheet.set_column(place, place, _width(column), look)
        self.sheet.write_string(_SAYS, place, said[0], self.looks.says)
        lead = "e.g. " if place == 0 else ""
        self.sheet.write_string(_EXAMPLE, place, lead + said[1], self.looks.example)
        needed = column.name in self.form.needs
        heading = self.looks.needed if needed else self.looks.optional
        self.sheet.write_string(_HEADINGS, place, column.name, heading)

    def _choices(self, place: int, column: Column) -> None:
        """Offer the set words, the units, yes and no, or the rows of the sheet referred to."""
        cells = (_FIRST, place, _LAST, place)
        words = {Holds.UNIT: tuple(MM_PER_UNIT), Holds.YES_NO: ("yes", "no")}
        listed = column.words or words.get(column.holds, ())
        sheet, named = _REFERS.get(column.name, ("", ""))
        if listed:
            rule = {
                "validate": "list",
                "source": list(listed),
                "error_title": "Not one of the words",
                "error_message": f"Choose one of: {', '.join(listed)}"[:255],
            }
            self.sheet.data_validation(*cells, rule)
        elif sheet in self.names and sheet != self.form.name:
            letter = xl_col_to_name(SHEETS[sheet].names.index(named))
            rule = {
                "validate": "list",
                "source": f"='{sheet}'!${letter}${_FIRST + 1}:${letter}${_LAST + 1}",
                "error_type": "warning",
                "error_title": f"Not in the sheet {sheet}",
                "error_message": f"If it is spelt right, add it to the sheet {sheet} too.",
            }
            self.sheet.data_validation(*cells, rule)

    def _rows(self, filled: Filled) -> None:
        headings = _headings(self.form, filled)
        for line, row in enumerate(filled.rows):
            wanted = filled.open_cells[line]
            height = 1
            for place, heading in enumerate(headings):
                text = row.get(heading, "")
                aside = heading in filled.asides
                look = self.looks.said if aside else self.looks.text
                look = self.looks.open if heading in wanted else look
                if text or heading in wanted:
                    self.sheet.write_string(_FIRST + line, place, text, look)
                if aside:
                    height = max(height, _lines(text, ASIDE_WIDTHS[heading]))
            self.sheet.set_row(_FIRST + line, _LINE * height + 2)

    def _set_up(self, columns: int, rows: int) -> None:
        """Freeze the headings and set up the paper."""
        names = sum(1 for name in self.form.names[:2] if name in ("machine", "clearance"))
        self.sheet.freeze_panes(_FIRST, names)
        if rows:
            self.sheet.autofilter(_HEADINGS, 0, _HEADINGS + rows, columns - 1)
        self.sheet.ignore_errors({"number_stored_as_text": f"A1:{xl_col_to_name(columns)}5000"})
        self.sheet.repeat_rows(_HEADINGS)
        self.sheet.set_landscape()
        self.sheet.set_paper(_A4)
        self.sheet.fit_to_pages(1 + (columns - 1) // _COLUMNS_A_PAGE, 0)
        if names and columns > _COLUMNS_A_PAGE:
            self.sheet.repeat_columns(0, names - 1)
        self.sheet.set_margins(0.4, 0.4, 0.5, 0.6)
        self.sheet.set_footer("&L&A&RPage &P of &N")


def _headings(form: Sheet, filled: Filled) -> list[str]:
    """Return the headings of a sheet in their order, asides after the columns that lead."""
    return [*form.names[: filled.lead], *filled.asides, *form.names[filled.lead :]]


def _how_to_sheet(sheet: Any, looks: _Looks, lines: Sequence[str]) -> None:
    sheet.set_column(0, 0, 100, looks.wrapped)
    sheet.write_string(0, 0, lines[0], looks.title)
    for line, text in enumerate(lines[1:], start=2):
        sheet.write_string(line, 0, text, looks.wrapped)
        sheet.set_row(line, _LINE * _lines(text, 95) + 4)
    sheet.hide_gridlines(2)
    sheet.set_paper(_A4)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)


def _width(column: Column) -> int:
    return _WIDE if column.name in _WIDE_COLUMNS else max(_NARROW, len(column.name) + 3)


def _lines(text: str, width: int) -> int:
    """Return the lines that a text takes in a cell of that many letters."""
    return max(1, len(textwrap.wrap(text, max(1, int(width)))))
