"""Layouts as a headings file writes them.

::

    [layout.opening-sheet]
    tabs = "T-*"                       # the tabs that look so; * stands for anything
    tab_name = "{machine} {date}"      # what the name of the tab tells
    texts = ["Hours: {run_hours}"]     # what cells outside the table tell
    date = 'right of "Date"'           # or one cell: "B2", or a line: "row 3"
    positions = 'below "Position"'     # or "A6:A40", "A6 down", "D4:K4", "D4 across"
    values = ["As found", "As left"]   # or columns "C:D", or rows "6:40" of positions across
    state = "row 5"
    note = "column E"
    always = { unit = "mil" }
    words = { "Found" = "as-found" }   # what words of the sheet mean
    skip = ["Mean*", "Total*"]         # positions that are none
    until = "Parts used*"              # the cell in the column of positions that ends the table
    blocks = "Machine:*"               # the cell with which each of several blocks begins
    signs = { A5 = "Position" }        # what stands on every sheet of this look
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from trendwear.errors import HeadingsProblem
from trendwear.readings.cell_names import cell_name, column_number, column_of, place_named
from trendwear.readings.form import SHEETS
from trendwear.readings.layouts.layout import Lines, SheetLayout
from trendwear.readings.layouts.wheres import GRAMMAR, Kind, Where, read_where
from trendwear.wording import fold

__all__ = ["layouts_in", "written_layout"]

_OWN: Final = (
    "tabs", "tab_name", "texts", "positions", "values", "always", "words", "skip", "until",
    "blocks", "signs",
)  # fmt: skip
_TOLD: Final = tuple(
    name for name in SHEETS["readings"].names if name not in ("clearance", "value")
)
_RANGE: Final = re.compile(r"([A-Z]{1,3}[0-9]+):([A-Z]{1,3}[0-9]*)( carried on)?", re.I)
_OPEN: Final = re.compile(r"([A-Z]{1,3}[0-9]+) (down|across)( carried on)?", re.I)
_COLUMNS: Final = re.compile(r"([A-Z]{1,3}):([A-Z]{1,3})?", re.I)
_ROWS: Final = re.compile(r"([1-9][0-9]*):([1-9][0-9]*)?")
_HOLE: Final = re.compile(r"\{(\w*)\}")

Problem = Callable[[str, str], HeadingsProblem]


def layouts_in(table: Mapping[str, object], problem: Problem) -> tuple[SheetLayout, ...]:
    """Return the layouts of a headings file.

    Parameters
    ----------
    table : mapping
        The part ``[layout]``: a table for each layout.
    problem : callable
        Makes the exception to raise, of what was found and what to do.
    """
    layouts = []
    for name, content in table.items():
        if not isinstance(content, dict):
            raise problem(f"layout.{name} is no table", f"Write [layout.{name}] on its own line")
        layouts.append(_Reader(name, content, problem).layout())
    return tuple(layouts)


@dataclass(frozen=True)
class _Reader:
    """Checks one layout and says where it is wrong."""

    name: str
    content: Mapping[str, object]
    problem: Problem

    def layout(self) -> SheetLayout:
        for key in self.content:
            if key not in (*_OWN, *_TOLD):
                known = ", ".join((*_OWN, *_TOLD))
                raise self.wrong(f"{key!r} is no part of a layout", f"Use one of {known}")
        positions, across, last = self.positions()
        return SheetLayout(
            name=self.name,
            tabs=self.texts("tabs") or ("*",),
            positions=positions,
            values=self.values(across=across),
            across=across,
            last_position=last,
            given={key: self.where(key) for key in self.content if key in _TOLD},
            always=self.always(),
            tab_name=self.pattern("tab_name"),
            texts=tuple(self.checked(text) for text in self.texts("texts")),
            words={fold(word.rstrip(":")): text for word, text in self.pairs("words").items()},
            skip=self.texts("skip"),
            until=self.text("until"),
            blocks=self.text("blocks"),
            signs={self.cell(cell): text for cell, text in self.pairs("signs").items()},
        )

    def positions(self) -> tuple[Where, bool, int | None]:
        text = self.text("positions")
        if text is None:
            raise self.wrong("it does not say where the positions stand", 'positions = "A6 down"')
        if found := _OPEN.fullmatch(text):
            place = place_named(found[1]) or (1, 0)
            start = Where(Kind.CELL, None, *place, carried=bool(found[3]))
            return start, found[2].casefold() == "across", None
        if found := _RANGE.fullmatch(text):
            return self.range(found)
        where = read_where(text)
        if where is None or where.kind not in (Kind.RIGHT, Kind.BELOW):
            do = (
                'Write "A6:A40", "A6 down", "D4:K4", "D4 across", below "LABEL" or right of "LABEL"'
            )
            raise self.wrong(f"positions = {text!r} is no range of cells", do)
        return where, where.kind is Kind.RIGHT, None

    def range(self, found: re.Match[str]) -> tuple[Where, bool, int | None]:
        first = place_named(found[1]) or (1, 0)
        where = Where(Kind.CELL, None, *first, carried=bool(found[3]))
        last = place_named(found[2])
        if last is None and column_number(found[2]) == first[1]:
            return where, False, None
        if last and last[1] == first[1] and last[0] >= first[0]:
            return where, False, last[0]
        if last and last[0] == first[0] and last[1] >= first[1]:
            return where, True, last[1]
        raise self.wrong(
            f"positions = {found[0]!r} is neither one column nor one row", 'Write "A6:A40"'
        )

    def values(self, *, across: bool) -> Lines:
        content = self.content.get("values")
        if isinstance(content, list):
            return Lines(headings=self.texts("values"))
        text = self.text("values") or ""
        found = (_ROWS if across else _COLUMNS).fullmatch(text)
        if found is None:
            want = 'rows such as "6:20"' if across else 'columns such as "C:D"'
            raise self.wrong(
                f"values = {content!r} does not say where the readings stand",
                f"Write {want}, or their headings in a list",
            )
        if across:
            return Lines(int(found[1]), int(found[2]) if found[2] else None)
        return Lines(column_number(found[1]), column_number(found[2]) if found[2] else None)

    def where(self, key: str) -> Where:
        text = self.text(key) or ""
        where = read_where(text)
        if where is None:
            raise self.wrong(f"{key} = {text!r} is no place on a sheet", f"Write {GRAMMAR}")
        return where

    def always(self) -> dict[str, str]:
        told = self.pairs("always")
        for name in told:
            if name not in _TOLD:
                raise self.wrong(f"{name!r} is no column of readings", f"Use {', '.join(_TOLD)}")
        return told

    def pattern(self, key: str) -> str | None:
        text = self.text(key)
        return None if text is None else self.checked(text)

    def checked(self, text: str) -> str:
        holes = _HOLE.findall(text)
        wrong = [name for name in holes if name not in _TOLD]
        if wrong or len(set(holes)) < len(holes) or not holes:
            raise self.wrong(
                f"the pattern {text!r} does not say once each what stands in it",
                'Write it as "Opened {date} at {run_hours} h"',
            )
        if "}{" in text:
            raise self.wrong(f"in {text!r} nothing parts two holes", "Write what stands between")
        return text

    def cell(self, name: str) -> str:
        place = place_named(name)
        if place is None:
            raise self.wrong(
                f"{name!r} under signs is no cell", 'Write signs = { A5 = "Position" }'
            )
        return cell_name(*place)

    def text(self, key: str) -> str | None:
        content = self.content.get(key)
        if content is None or isinstance(content, str):
            return " ".join(content.split()) if content else None
        raise self.wrong(f"{key} is no text", 'Write it in "…"')

    def texts(self, key: str) -> tuple[str, ...]:
        content = self.content.get(key, [])
        listed = content if isinstance(content, list) else [content]
        if not all(isinstance(text, str) and text.strip() for text in listed):
            raise self.wrong(f"{key} is no text or list of texts", 'Write ["…", "…"]')
        return tuple(str(text) for text in listed)

    def pairs(self, key: str) -> dict[str, str]:
        content = self.content.get(key, {})
        if not isinstance(content, dict) or not all(isinstance(v, str) for v in content.values()):
            raise self.wrong(f"{key} is no table of texts", f'Write {key} = {{ … = "…" }}')
        return {str(name): text for name, text in content.items()}

    def wrong(self, found: str, do: str) -> HeadingsProblem:
        return self.problem(f"[layout.{self.name}]: {found}", do)


def written_layout(layout: SheetLayout) -> str:
    """Return a layout as a headings file writes it; reading that gives it back."""
    lines = [f"[layout.{_key(layout.name)}]", f"tabs = {_list(layout.tabs)}"]
    if layout.tab_name:
        lines.append(f"tab_name = {_quoted(layout.tab_name)}")
    if layout.texts:
        lines.append(f"texts = {_list(layout.texts)}")
    lines += [f"{name} = {_quoted(str(where))}" for name, where in layout.given.items()]
    lines.append(f"positions = {_quoted(_positions(layout))}")
    lines.append(f"values = {_values(layout)}")
    for name, pairs in (
        ("always", layout.always),
        ("words", layout.words),
        ("signs", layout.signs),
    ):
        if pairs:
            told = ", ".join(f"{_key(key)} = {_quoted(text)}" for key, text in pairs.items())
            lines.append(f"{name} = {{ {told} }}")
    if layout.skip:
        lines.append(f"skip = {_list(layout.skip)}")
    for name, text in (("until", layout.until), ("blocks", layout.blocks)):
        if text:
            lines.append(f"{name} = {_quoted(text)}")
    return "\n".join(lines) + "\n"


def _positions(layout: SheetLayout) -> str:
    where = layout.positions
    if where.label is not None:
        return str(where)
    first = cell_name(where.row, where.column)
    behind = " carried on" if where.carried else ""
    if layout.last_position is None:
        return f"{first} {'across' if layout.across else 'down'}{behind}"
    last = (
        (where.row, layout.last_position) if layout.across else (layout.last_position, where.column)
    )
    return f"{first}:{cell_name(*last)}{behind}"


def _values(layout: SheetLayout) -> str:
    values = layout.values
    if values.headings:
        return f"[{', '.join(map(_quoted, values.headings))}]"
    if layout.across:
        return _quoted(f"{values.first}:{values.last or ''}")
    return _quoted(
        f"{column_of(values.first)}:{'' if values.last is None else column_of(values.last)}"
    )


def _key(name: str) -> str:
    return name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else _quoted(name)


def _list(texts: tuple[str, ...]) -> str:
    return _quoted(texts[0]) if len(texts) == 1 else f"[{', '.join(map(_quoted, texts))}]"


def _quoted(text: str) -> str:
    if '"' in text and "'" not in text and "\n" not in text:
        return f"'{text}'"
    return json.dumps(text, ensure_ascii=False)
