"""One sheet of a file to typed rows, faults and notes."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import pandas as pd

from trendwear.errors import InputProblem
from trendwear.readings.cell_marks import Marks, mark_notes
from trendwear.readings.columns import Holds
from trendwear.readings.decimals import Decimal, decimal_shown
from trendwear.readings.faults import Refusal, fault_frame, gathered
from trendwear.readings.form import SHEETS
from trendwear.readings.header_row import HeaderRow, Row, find_header, headings_known
from trendwear.readings.headings import Headings
from trendwear.readings.marked_cells import as_numbers, as_shown, with_cells, without
from trendwear.readings.tabs import Layout, Tab
from trendwear.readings.typed_cells import Customs
from trendwear.readings.typed_rows import Table, TypedRows, typed_rows
from trendwear.readings.value_words import work_named

__all__ = ["ReadTab", "read_tab"]

_ROWS_AT_ONCE: Final = 20_000
_TEXT_AT_ONCE: Final = 16_000_000
_MOST_FAULTS: Final = 100_000
_HOPELESS: Final = 5_000
"""Faults before the first good row that show that this is another kind of file."""
_MANY_DECIMALS: Final = re.compile(r"[.,][0-9]{6}")
_NUMERIC: Final = (Holds.NUMBER, Holds.COUNT, Holds.HOURS, Holds.LENGTH)


@dataclass(frozen=True)
class ReadTab:
    """What one sheet of a file gave."""

    rows: pd.DataFrame
    """Typed rows without a fault: the columns that the file has, ``row`` and ``cell``."""
    faults: pd.DataFrame
    notes: tuple[str, ...] = ()
    rowless: bool = False
    """Whether there are headings and nothing below them."""


def read_tab(file: str, tab: Tab, sheet: str, headings: Headings) -> ReadTab:
    """Read one tab as that sheet.

    Raises
    ------
    InputProblem
        The file breaks off, or so little of it can be read that it is no such sheet.
    """
    place = (file, tab.name)
    layout, head = _best_layout(tab, sheet, headings)
    if not any(cell.strip() for _, cells in head for cell in cells):
        return ReadTab(pd.DataFrame(), gathered([]), (f"{file}, {tab.name}: it is empty",))
    header = find_header(head, SHEETS[sheet], headings)
    if isinstance(header, Refusal):
        raise InputProblem(file, header.reason, header.instead)
    parts = list(_read(layout, header, sheet, headings))
    good = [part.good for part in parts if len(part.good)]
    rows = pd.concat(good, ignore_index=True) if good else pd.DataFrame()
    faults = gathered([fault_frame(place, part.faults) for part in parts])
    about = f"{file}, {tab.name}"
    notes = tuple(_notes(about, parts, (header, headings), layout.marks))
    return ReadTab(rows, faults, notes, rowless=not sum(part.rows for part in parts))


def _best_layout(tab: Tab, sheet: str, headings: Headings) -> tuple[Layout, list[Row]]:
    """Return the way of parting cells that shows most of our headings, and its first rows.

    Where one way fails and no other shows the headings, the failure is what counts.
    """
    heads: list[tuple[int, Layout, list[Row]]] = []
    failures = []
    for layout in tab.layouts:
        try:
            head = layout.head()
        except InputProblem as problem:
            failures.append(problem)
        else:
            heads.append((headings_known(head, SHEETS[sheet], headings), layout, head))
    known, layout, head = max(heads, key=lambda one: one[0], default=(0, tab.layouts[0], []))
    if failures and not known:
        raise failures[0]
    return layout, head


def _read(layout: Layout, header: HeaderRow, sheet: str, headings: Headings) -> Iterator[TypedRows]:
    """Yield the rows below the headings, some at a time; stop where it is no such sheet."""
    fixed = {
        name: text
        for name, text in headings.fixed.get(sheet, {}).items()
        if name not in header.places
    }
    table = None
    faults = good = 0
    for rows in _portions(layout.rows(), header.row):
        if table is None:
            customs = _customs(rows, header, layout, headings)
            table = Table(header, customs, fixed, layout.separator)
        part = _typed(rows, table, layout.marks, headings.decimal)
        faults += len(part.faults["row"])
        good += len(part.good)
        if faults > (_MOST_FAULTS if good else _HOPELESS):
            raise _no_such_sheet(sheet, part)
        yield part


def _typed(rows: list[Row], table: Table, marks: Marks | None, stated: Decimal | None) -> TypedRows:
    """Read rows; those of a workbook in the light of what it says of their cells."""
    header = table.header
    if marks is None:
        part = typed_rows(rows, table)
        faults: dict[str, list[object]] = {**part.faults, "cell": [None] * len(part.faults["row"])}
        return replace(part, good=part.good.assign(cell=None), faults=faults)
    if stated is Decimal.COMMA_STATED:
        rows = as_numbers(rows, header, marks)
    part = typed_rows(as_shown(rows, header, marks), table)
    return with_cells(without(part, header, marks, stated), header)


def _portions(rows: Iterator[Row], header_row: int) -> Iterator[list[Row]]:
    """Yield the rows below the headings in portions that memory holds easily."""
    portion: list[Row] = []
    length = 0
    for number, cells in rows:
        if number <= header_row:
            continue
        portion.append((number, cells))
        length += sum(map(len, cells))
        if len(portion) >= _ROWS_AT_ONCE or length > _TEXT_AT_ONCE:
            yield portion
            portion, length = [], 0
    if portion:
        yield portion


def _customs(rows: list[Row], header: HeaderRow, layout: Layout, headings: Headings) -> Customs:
    """Return how dates and numbers are written: as stated, else as the first rows show it."""
    if headings.decimal or layout.separator is None:
        return Customs(headings.order, headings.decimal or Decimal.POINT)
    decimal = Decimal.POINT
    if layout.separator != ",":
        places = [
            place
            for name, place in header.places.items()
            if header.sheet.column(name).holds in _NUMERIC
        ]
        decimal = decimal_shown(
            cells[place] for _, cells in rows for place in places if place < len(cells)
        )
    taken = decimal is Decimal.POINT
    return Customs(headings.order, Decimal.POINT_TAKEN if taken else decimal)


def _no_such_sheet(sheet: str, part: TypedRows) -> InputProblem:
    names = ("row", "column", "written", "reason")
    row, column, written, reason = (part.faults[name][0] for name in names)
    where = f"row {row}" + (f", column {column}" if column else "")
    quoted = f" ({str(written)[:80]!r})" if written else ""
    found = f"hardly a row can be read as {sheet}: in {where}{quoted} {reason}, and so on"
    return InputProblem(sheet, found, "Check that this is the right file")


def _notes(
    about: str, parts: list[TypedRows], table: tuple[HeaderRow, Headings], marks: Marks | None
) -> Iterator[str]:
    """Yield what deserves a look in one tab."""
    header, headings = table
    if marks:
        yield from mark_notes(marks, about)
    if header.unknown:
        yield f"{about}: columns not read: {', '.join(header.unknown_hinted)}"
    if any(part.stray for part in parts):
        yield f"{about}: cells in columns without a heading are not read"
    unused = headings.fixed.get(header.sheet.name, {}).keys() & header.places.keys()
    for name in sorted(unused):
        yield f"{about}: it has a column {name}: the fixed value is not used"
    words: dict[str, list[int]] = {}
    fine: list[int] = []
    for part in parts:
        if "word" in part.good:
            worded = part.good[part.good["word"].notna()]
            for word, row in zip(worded["word"], worded["row"], strict=True):
                words.setdefault(word, []).append(row)
            fine.extend(part.good.loc[_computed(part.good), "row"])
    for word, rows in words.items():
        becomes = "work" if work_named(word) else "an event"
        yield f"{about}: the value {word!r} is kept as {becomes}: {_rows_named(rows)}"
    if fine:
        yield (
            f"{about}: look again: more decimals than a gauge shows, was the value computed?"
            f" {_rows_named(fine)}"
        )


def _computed(good: pd.DataFrame) -> pd.Series:
    """Return whether a value carries more decimals than any gauge shows."""
    written = good["value_written"]
    long = {text for text in written.dropna().unique() if _MANY_DECIMALS.search(text)}
    return written.isin(long)


def _rows_named(rows: list[int]) -> str:
    shown = ", ".join(map(str, rows[:5]))
    more = f" and {len(rows) - 5} more" if len(rows) > 5 else ""
    return f"row {shown}{more}"
